package report_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/measure"
)

func TestGolden(t *testing.T) {
	_, ms := series()
	tr := trend(t)
	rates := []study.HipRate{
		study.NewHipRate("H1", []study.Point{{Years: 0.1}, {Years: 1.1, MM: 0.3}, {Years: 3, MM: 0.41}, {Years: 6, MM: 0.62}, {Years: 9, MM: 0.78}}, 1),
		study.NewHipRate("H2", []study.Point{{Years: 1.1, MM: 0.3}}, 1),
	}
	facts := []study.FileFacts{
		{Film: "films/a.dcm", SHA256: "ab12", Format: "DICOM", TransferSyntax: "1.2.840.10008.1.2.1", Modality: "DX",
			Photometric: "MONOCHROME2", Width: 1284, Height: 1282, Bits: 14, Patient: "Q7-000", Date: day("2004-06-16"),
			DateSource: "acquisition", Laterality: "R", View: "AP", Field: [4]float64{100, 1184, 50, 1232}, SourceImage: 1150, SourcePatient: 1000,
			SyntaxName: "explicit little endian", CharacterSets: []string{"ISO_IR 100"}, Frames: 2, Frame: 1,
			Allocated: 16, HighBit: 13, Dates: []study.Dated{{Source: "acquisition", Date: day("2004-06-16")}, {Source: "study", Date: day("2004-06-17")}},
			Orientation: [2]string{"R", "F"}, Upright: study.Note{Code: "upright.mirrored"}, BurnedIn: "YES", Magnification: 1.15,
			Spacings: []study.Spacing{{Kind: "imager", Name: "Imager Pixel Spacing (0018,1164)", Row: 0.148, Column: 0.148, Used: true},
				{Kind: "pixel", Name: "Pixel Spacing (0028,0030)", Row: 0.148, Column: 0.148}},
			SpacingReason: study.Note{Code: "scale.repeated"}, CheckedAgainst: "Imager Pixel Spacing (0018,1164)",
			Greys: study.Greys{Slope: 2, Intercept: -100, Windows: []study.Window{{Center: 8192, Width: 16384, Function: "LINEAR", Name: "NORMAL"}},
				Tables: []study.Table{{First: 10, Entries: 256, Bits: 12}}, Shape: "INVERSE", Padding: &[2]int{0, 3}},
			PixelKey: "cd34", DuplicateOf: "films/0.dcm", Warnings: []study.Note{{Text: "a note"}}},
		{Film: "films/b.png", SHA256: "ef56", Format: "PNG", Photometric: "MONOCHROME2", Width: 100, Height: 50, Frames: 1, Frame: 1, Bits: 8,
			AspectRatio: [2]float64{4, 3}, SpacingReason: study.Note{Code: "scale.none"}},
		{Film: "films/g.dcm", Fault: study.Note{Text: "malformed: no pixels"}},
	}
	copies := []study.Deidentified{
		{Film: "films/a.dcm", Written: "out/PAB-20030101-0123abcd.dcm", Patient: "PAB", Warnings: []study.Note{{Text: "look at it"}}},
		{Film: "films/g.dcm", Fault: study.Note{Text: "malformed: no pixels"}},
	}
	known := []report.Known{{Trend: tr, Liner: "conventional PE", Rate: 0.11, BeddingIn: 0.18, Penetration: 1.26, Inside: true}}
	for _, f := range []report.Format{report.Table, report.JSON, report.CSV} {
		ext := map[report.Format]string{report.Table: "txt", report.JSON: "json", report.CSV: "csv"}[f]
		for name, write := range map[string]func(*bytes.Buffer) error{
			"measurements": func(b *bytes.Buffer) error { return report.Measurements(b, f, ms) },
			"trend":        func(b *bytes.Buffer) error { return report.Trend(b, f, tr) },
			"rates":        func(b *bytes.Buffer) error { return report.Rates(b, f, rates) },
			"facts":        func(b *bytes.Buffer) error { return report.Facts(b, f, facts) },
			"deidentified": func(b *bytes.Buffer) error { return report.Deidentified(b, f, copies) },
			"known":        func(b *bytes.Buffer) error { return report.KnownHips(b, f, known) },
		} {
			t.Run(name+"."+ext, func(t *testing.T) { golden(t, name+"."+ext, write) })
		}
	}
	t.Run("penetrations.csv", func(t *testing.T) {
		golden(t, "penetrations.csv", func(b *bytes.Buffer) error { return report.Penetrations(b, []study.Trend{tr}) })
	})
}

// keys returns the keys of a JSON object in their order.
func keys(t *testing.T, object json.RawMessage) []string {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(object))
	var out []string
	depth, isKey := 0, false
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return out
		}
		require.NoError(t, err)
		switch tok {
		case json.Delim('{'), json.Delim('['):
			depth++
			isKey = depth == 1
			continue
		case json.Delim('}'), json.Delim(']'):
			depth--
			isKey = depth == 1
			continue
		}
		if depth == 1 && isKey {
			out = append(out, tok.(string))
			isKey = false
		} else if depth == 1 {
			isKey = true
		}
	}
}

// TestShape checks that the fields that are promised come in their order,
// whatever stands between them.
func TestShape(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, report.Trend(&b, report.JSON, trend(t)))
	field := func(object json.RawMessage, name string) json.RawMessage {
		var m map[string]json.RawMessage
		require.NoError(t, json.Unmarshal(object, &m))
		return m[name]
	}
	first := func(list json.RawMessage) json.RawMessage {
		var l []json.RawMessage
		require.NoError(t, json.Unmarshal(list, &l))
		require.NotEmpty(t, l)
		return l[0]
	}
	all := json.RawMessage(b.Bytes())
	film := first(field(all, "films"))
	circle := "x_px y_px radius_px se_x_px se_y_px se_radius_px arc_deg rms_px"
	for _, c := range []struct {
		name   string
		object json.RawMessage
		want   string
	}{
		{"trend", all, "films penetration fit warnings"},
		{"film", film, "film sha256 status reason date side head cup mm_per_px scale_source offset_mm eccentricity thinnest_mm warnings"},
		{"head", field(film, "head"), circle},
		{"cup", field(film, "cup"), "outline " + circle},
		{"offset", field(film, "offset_mm"), "superior medial se_superior se_medial"},
		{"penetration", first(field(all, "penetration")),
			"film years superior_mm medial_mm magnitude_mm direction_deg se_superior_mm se_medial_mm"},
		{"fit", field(all, "fit"), "model n rate_mm_per_year se lo95 hi95 bedding_in_mm bedding_in_lo95 bedding_in_hi95 start_years"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := keys(t, c.object)
			at := 0
			for _, k := range got {
				if want := strings.Fields(c.want); at < len(want) && k == want[at] {
					at++
				}
			}
			require.Equal(t, len(strings.Fields(c.want)), at, "%v holds %s in this order", got, c.want)
		})
	}
}

// TestNothingInvented checks that what does not exist is null or empty, and
// that no NaN or infinity gets through.
func TestNothingInvented(t *testing.T) {
	odd := measured("a.dcm", "2004-06-16", math.NaN(), math.Inf(1), 0.02)
	odd.Head.Cov[0][0] = math.NaN()
	odd.Film.Facts.SpacingMM = 0
	failed := study.Measurement{Film: study.Film{Path: "b.dcm"}, Status: study.Failed, Reason: study.Note{Text: "why"}}
	var b bytes.Buffer
	require.NoError(t, report.Measurements(&b, report.JSON, []study.Measurement{odd, failed}))
	var got []map[string]any
	require.NoError(t, json.Unmarshal(b.Bytes(), &got))
	require.Nil(t, got[0]["magnification"])
	require.Nil(t, got[0]["head"].(map[string]any)["se_x_px"])
	require.Nil(t, got[0]["offset_mm"].(map[string]any)["superior"])
	require.Nil(t, got[0]["offset_mm"].(map[string]any)["medial"])
	for _, k := range []string{"sha256", "date", "side", "head", "cup", "mm_per_px", "scale_source", "offset_mm", "eccentricity", "thinnest_mm"} {
		require.Contains(t, got[1], k)
		require.Nil(t, got[1][k], k)
	}
	require.Equal(t, []any{}, got[1]["warnings"])

	for _, f := range []report.Format{report.Table, report.CSV} {
		b.Reset()
		require.NoError(t, report.Measurements(&b, f, []study.Measurement{odd, failed}))
		require.NotContains(t, b.String(), "NaN")
		require.NotContains(t, b.String(), "Inf")
	}
}

// TestNoFilms checks that nothing is an empty list and not null.
func TestNoFilms(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, report.Measurements(&b, report.JSON, nil))
	require.Equal(t, "[]\n", b.String())
	b.Reset()
	require.NoError(t, report.Trend(&b, report.JSON, study.Trend{}))
	require.JSONEq(t, `{"films":[],"penetration":[],"fit":null,"warnings":[],"baseline":null,"liner":null,"lateral_films":[],"spatial":[]}`, b.String())
}

// TestCSV reads a table back: RFC 4180 line ends, every row as long as the
// header, every digit of a value.
func TestCSV(t *testing.T) {
	m := measured("a, \"b\".dcm", "2004-06-16", 1.0/3, -0.01, 0.02)
	var b bytes.Buffer
	require.NoError(t, report.Measurements(&b, report.CSV, []study.Measurement{m}))
	require.Equal(t, 2, strings.Count(b.String(), "\r\n"))
	rows, err := csv.NewReader(&b).ReadAll() // refuses rows of another length
	require.NoError(t, err)
	cell := map[string]string{}
	for i, name := range rows[0] {
		cell[name] = rows[1][i]
	}
	require.Equal(t, m.Film.Path, cell["film"])
	v, err := strconv.ParseFloat(cell["offset_superior_mm"], 64)
	require.NoError(t, err)
	require.Equal(t, 1.0/3, v)
}

// TestRounding checks that a table shows two digits of the standard error, as
// JCGM 100:2008, 7.2.6 advises.
func TestRounding(t *testing.T) {
	for _, c := range []struct {
		name string
		se   float64
		want string
	}{
		{"0.02 mm", 0.02, "0.123 ±0.020"},
		{"0.2 mm", 0.2, "0.12 ±0.20"},
		{"2 mm", 2, "0.1 ±2.0"},
		{"0.002 mm", 0.002, "0.1235 ±0.0020"},
		{"never more than four decimals", 1e-6, "0.1235 ±0.0000"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			ms := []study.Measurement{measured("a.dcm", "2004-06-16", 0.123456, 0, c.se)}
			require.NoError(t, report.Measurements(&b, report.Table, ms))
			require.Contains(t, b.String(), " "+c.want+" ")
		})
	}
}

func TestParseFormat(t *testing.T) {
	for _, s := range []string{"table", "json", "csv"} {
		f, err := report.ParseFormat(s)
		require.NoError(t, err)
		require.Equal(t, s, string(f))
	}
	_, err := report.ParseFormat("xml")
	require.EqualError(t, err, `report: format "xml" is not table, json or csv`)
}

// failing is a writer on a full disk.
type failing struct{ left int }

func (f *failing) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, io.ErrShortWrite
	}
	return len(p), nil
}

// TestWriteErrors checks that no writer hides that it could not write.
func TestWriteErrors(t *testing.T) {
	_, ms := series()
	tr := trend(t)
	for _, f := range []report.Format{report.Table, report.JSON, report.CSV} {
		for left := 0; left < 900; left += 150 {
			require.Error(t, report.Measurements(&failing{left}, f, ms), "%s after %d bytes", f, left)
			require.Error(t, report.Trend(&failing{left}, f, tr), "%s after %d bytes", f, left)
		}
	}
}

func ExampleRates() {
	rate := study.NewHipRate("Q7-000", []study.Point{
		{Years: 0.1, MM: 0}, {Years: 1, MM: 0.21}, {Years: 2, MM: 0.24}, {Years: 5, MM: 0.37}, {Years: 10, MM: 0.58},
	}, 1)
	if err := report.Rates(os.Stdout, report.Table, []study.HipRate{rate}); err != nil {
		panic(err)
	}
	// Output:
	// hip     rows  in the line  rate mm/year (95 %)        bedding-in mm (95 %)    first to last mm/year
	// Q7-000     5            4  0.0416 (0.0380 to 0.0453)  0.163 (0.130 to 0.195)                  0.041
	//
	// A measuring aid for research and follow-up, not cleared for diagnosis; a clinician reviews every reading; follow local rules.
}

func ExampleMeasurements() {
	ms := []study.Measurement{{
		Film: study.Film{Path: "films/a.dcm"}, Status: study.Refused, Reason: study.Note{Text: "no hip replacement found"}, Side: measure.SideUnknown,
	}}
	if err := report.Measurements(os.Stdout, report.Table, ms); err != nil {
		panic(err)
	}
	// Output:
	// film   date  side  status   cup  mm/px  offset superior mm  offset medial mm  eccentricity  thinnest mm
	// a.dcm  -     -     refused  -        -                   -                 -             -            -
	// a.dcm: refused: no hip replacement found
	//
	// ± one standard error
	// A measuring aid for research and follow-up, not cleared for diagnosis; a clinician reviews every reading; follow local rules.
}
