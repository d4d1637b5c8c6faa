package reader_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/report/paper"
	"linerwatch/app/report/paper/papertest"
	"linerwatch/app/report/reader"
	"linerwatch/app/report/reporttest"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

var print = reader.Print{Clinic: "Clinic of the Example Town", Date: time.Date(2026, 3, 4, 10, 30, 0, 0, time.UTC), Program: "Linerwatch 0.1.0, commit 0123456789ab"}

// told is the report of a hip, with pictures and edge points of all its films but the last.
func told(t *testing.T, r study.Record) *reader.Report {
	t.Helper()
	rep := &reader.Report{Record: r, Points: map[string]study.Points{}}
	require.NoError(t, rep.Tell())
	for i, id := range rep.Counting() {
		if i+1 == len(r.Films) {
			break
		}
		var p study.Points
		for k := range 720 {
			e := study.Edge{Angle: float64(k) / 2, Residual: 0.1 * float64(k%7-3)}
			if k%9 == 0 {
				e.Reject = "neck"
			} else {
				p.Head.Fitted = append(p.Head.Fitted, e.Point)
			}
			p.Head.All = append(p.Head.All, e)
		}
		p.Cup = p.Head
		rep.Points[id] = p
	}
	for i, m := range rep.Shown() {
		if i+1 < len(r.Films) {
			rep.Show(m.Film.ID, reader.Picture{Image: noisy(reader.PictureSide), At: study.Pixel{X: 320, Y: 220}, Zoom: float64(reader.PictureSide) / 580})
		}
	}
	before := r.Hip
	before.Implant.LinerMM, before.Revision = 10, 1
	rep.Changes = []study.HipChange{{Stamp: study.Stamp{Reader: "R1", At: print.Date}}, {Stamp: study.Stamp{Reader: "R2", At: print.Date}, Before: before}}
	return rep
}

// noisy is a picture with the grain of a film, which is what takes room.
func noisy(side int) image.Image {
	img := image.NewGray(image.Rect(0, 0, side, side))
	x := uint32(7)
	for i := range img.Pix {
		x = x*1664525 + 1013904223
		img.Pix[i] = uint8(110 + x>>27)
	}
	img.SetGray(0, 0, color.Gray{Y: 255})
	return img
}

func pdf(t *testing.T, c reporttest.Case, code string, size paper.Size) []byte {
	t.Helper()
	speech, ok := texts.In(code)
	require.True(t, ok)
	p := print
	p.Size = size
	var b bytes.Buffer
	require.NoError(t, told(t, c.Record).PDF(&b, speech, p))
	if dir := os.Getenv("LINERWATCH_PAGES"); dir != "" {
		require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("reader %s %s %s.pdf", c.Name, code, size)), b.Bytes(), 0o644))
	}
	return b.Bytes()
}

func each(t *testing.T, test func(t *testing.T, c reporttest.Case, code string, pdf []byte)) {
	for _, c := range reporttest.Cases() {
		for i, code := range texts.Codes() {
			size := []paper.Size{paper.A4, paper.Letter}[i%2]
			t.Run(fmt.Sprintf("%s, %s, %s", c.Name, code, size), func(t *testing.T) { test(t, c, code, pdf(t, c, code, size)) })
		}
	}
}

func words(t *testing.T, pdf []byte) string {
	t.Helper()
	pages, err := papertest.Pages(pdf)
	require.NoError(t, err)
	return strings.Join(strings.Fields(strings.Join(pages, " ")), " ")
}

// The report holds the numbers of the trend's JSON, every film and every reading, no key of a
// text and nothing that is no number.
func TestReportTellsTheTrend(t *testing.T) {
	each(t, func(t *testing.T, c reporttest.Case, code string, pdf []byte) {
		text := words(t, pdf)
		compare(t, c, code, text)
		require.NotRegexp(t, regexp.MustCompile(`NaN|Inf\b|%!|\b(reader|detail|standing|warning|trend|model)\.[a-z]`), text)
		bare := strings.ReplaceAll(text, " ", "")
		for _, f := range c.Record.Films {
			require.Contains(t, bare, f.Facts.SHA256, "broken over lines at most")
			require.Contains(t, bare, f.Name())
		}
		require.Equal(t, len(c.Record.Readings), strings.Count(text, "2026-01-05 09:")-read(c), "each reading in the list of all")
	})
}

// read is how many films have their reading told beside their picture.
func read(c reporttest.Case) int {
	return len(c.Record.Films) - len(c.Record.Exclusions) - c.Record.Summary(study.Anyone).Later
}

// compare looks for the JSON's numbers in the text of a report.
func compare(t *testing.T, c reporttest.Case, code, text string) {
	t.Helper()
	tr, err := c.Record.Trend(study.Anyone)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, report.Trend(&b, report.JSON, tr))
	var j struct {
		Baseline    string
		Penetration []struct {
			Film string
			Sup  float64 `json:"superior_mm"`
			Med  float64 `json:"medial_mm"`
			SSup float64 `json:"se_superior_mm"`
			SMed float64 `json:"se_medial_mm"`
		}
		Fit *struct {
			Rate float64  `json:"rate_mm_per_year"`
			Lo   *float64 `json:"lo95"`
			Hi   *float64 `json:"hi95"`
		}
	}
	require.NoError(t, json.Unmarshal(b.Bytes(), &j))
	number := func(v float64, places int) string {
		s := strconv.FormatFloat(v, 'f', places, 64)
		if strings.Trim(s, "-0.") == "" {
			s = strings.TrimPrefix(s, "-")
		}
		s = strings.ReplaceAll(s, "-", "−")
		if code == "de" {
			s = strings.ReplaceAll(s, ".", ",")
		}
		return s
	}
	for _, p := range j.Penetration {
		if p.Film == j.Baseline {
			continue
		}
		require.Contains(t, text, number(p.Sup, report.Decimals(p.SSup))+" ± "+number(p.SSup, report.Decimals(p.SSup)))
		require.Contains(t, text, number(p.Med, report.Decimals(p.SMed))+" ± "+number(p.SMed, report.Decimals(p.SMed)))
	}
	if j.Fit != nil && j.Fit.Hi != nil {
		n := report.Decimals((*j.Fit.Hi - *j.Fit.Lo) / 4)
		to := map[string]string{"en": " to ", "de": " bis "}[code]
		require.Contains(t, text, number(j.Fit.Rate, n)+" (95 % "+number(*j.Fit.Lo, n)+to+number(*j.Fit.Hi, n)+")")
	}
}

func TestReportTellsWhatBecameOfReadings(t *testing.T) {
	r := reporttest.Cases()[8].Record // a film is left out
	r.Readings[1].Withdrawn = &study.Withdrawal{ReadingID: "r1", Reader: "R3", At: print.Date}
	later := r.Readings[3]
	later.ID, later.Supersedes, later.Reader = "r3b", "r3", "R2"
	r.Readings = append(r.Readings, later)
	speech, _ := texts.In("en")
	var b bytes.Buffer
	rep := told(t, r)
	before := r.Films[0]
	before.Given.Date, before.Given.SourceMM = reporttest.Surgery.AddDate(0, 0, 5), 1150
	rep.FilmChanges = map[string][]study.FilmChange{"F0": {{Stamp: study.Stamp{Reader: "R1", At: print.Date}}, {Stamp: study.Stamp{Reader: "R4", At: print.Date}, Before: before}}}
	require.NoError(t, rep.PDF(&b, speech, print))
	text := words(t, b.Bytes())
	for _, said := range []string{"withdrawn by R3, 2026-03-04 10:30", "replaced by a later one of R2", "kept; the film is left out",
		"film 2, 2005-06-09: no reading counts, and nothing was looked for yet",
		"R1: film 3, 2007-03-28 left out: pelvis turned or tilted, or another view (obturator foramen narrow)",
		"R2: liner thickness 8 mm, was 10 mm",
		"2026-03-04 10:30 UTC, R4: film 1, 2004-06-16: date as the file says, was 2004-05-08",
		"R4: film 1, 2004-06-16: source to detector as the file says, was 1150 mm", "commit 0123456789ab", "read and checked by", "the latest reading of each film",
		"not corrected for off-axis projection"} {
		require.Contains(t, text, said)
	}
}

// Readings that make no series are told each by itself, with the reason; of none there is no
// report.
func TestReportOfNoSeries(t *testing.T) {
	r := reporttest.Cases()[0].Record
	r.Films[1].Facts.Side = study.Left
	r.Readings[1].Film = r.Films[1]
	rep := told(t, r)
	speech, _ := texts.In("en")
	var b bytes.Buffer
	require.NoError(t, rep.PDF(&b, speech, print))
	text := words(t, b.Bytes())
	require.Contains(t, text, "The readings make no series: ")
	require.Contains(t, text, "mixed sides")
	require.NotContains(t, text, "steady-state rate")
	require.Equal(t, 1, strings.Count(text, "The film's file is not where it was last"), "the film without a picture")
	require.ErrorIs(t, (&reader.Report{Record: r, Reader: "R2"}).Tell(), study.ErrNoneAccepted)
}

// What nobody has accepted is in a report by choice only, which says so first.
func TestUncheckedIsSaid(t *testing.T) {
	r := reporttest.Unread(reporttest.Cases()[0].Record, 5)
	require.ErrorIs(t, (&reader.Report{Record: r}).Tell(), study.ErrNoneAccepted)
	rep := &reader.Report{Record: r, Unchecked: true}
	require.NoError(t, rep.Tell())
	speech, _ := texts.In("en")
	var b bytes.Buffer
	require.NoError(t, rep.PDF(&b, speech, print))
	text := words(t, b.Bytes())
	require.Contains(t, text, "Not checked: on 5 films of the trend the program placed the outlines, and nobody has accepted them.")
	require.Equal(t, 5, strings.Count(text, "proposed by the program; accepted by nobody"))
	require.Contains(t, text, "No reading has been accepted.")
}

// What is known of implant, events, grades and lists is told, in either language.
func TestReportTellsWhatIsKnown(t *testing.T) {
	for code, told := range map[string][]string{
		"en": {"dose of irradiation 95 kGy", "stabiliser vitamin E", "highly cross-linked", "cobalt-chrome", "metal shell without cement", "lipped liner no", "000-000-000", "inner diameter of the liner 28.3 mm",
			"2013-05-03: cup revised; entered by R3, 2026-01-02 08:00 UTC; taken back",
			"2016-05-03: liner exchanged; since then head diameter 32 mm, polyethylene highly cross-linked (at another place)",
			"2026-01-05 08:00 UTC, R1: film 2, 2005-06-09: B: usable, pelvis tilted otherwise", "film quality C: poor, blurred, by R1",
			"reading list, place 7, begun without outlines", "reading list, place 9, occasion 2, begun with the program's outlines, accepted as they were"},
		"de": {"Bestrahlungsdosis 95 kGy", "Innendurchmesser des Inlays 28,3 mm", "Inlay gewechselt; seitdem Kopfdurchmesser 32 mm", "Qualität der Aufnahme C: schlecht, unscharf", "Leseliste, Platz 9, 2. Mal"},
	} {
		text := words(t, pdf(t, reporttest.Case{Name: "known", Record: reporttest.Known()}, code, paper.A4))
		for _, said := range told {
			require.Contains(t, text, said)
		}
	}
}

// The place to sign stands on a page with what is signed.
func TestSignatureIsNeverAlone(t *testing.T) {
	speech, _ := texts.In("en")
	r := reporttest.Cases()[1].Record
	for n := range 60 { // each a line further down
		var b bytes.Buffer
		rep := &reader.Report{Record: r}
		require.NoError(t, rep.Tell())
		require.NoError(t, rep.PDF(&b, speech, print))
		pages, err := papertest.Pages(b.Bytes())
		require.NoError(t, err)
		last := strings.Join(strings.Fields(pages[len(pages)-1]), " ")
		require.Contains(t, last, "read and checked by")
		require.Contains(t, last, "a clinician reviews every reading", "%d grades", n)
		r.Grades = append(r.Grades, study.Grade{FilmID: r.Films[0].ID, Quality: "A", Stamp: study.Stamp{Reader: "R1"}})
	}
}

func TestSameBytes(t *testing.T) {
	c := reporttest.Cases()[0]
	require.Equal(t, pdf(t, c, "en", paper.A4), pdf(t, c, "en", paper.A4))
}

// What other programs make of a report.
func TestPeersReadTheReport(t *testing.T) {
	if testing.Short() {
		t.Skip("starts other programs for every page")
	}
	for _, tool := range []string{"pdftotext", "pdffonts", "qpdf"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip("no " + tool)
		}
	}
	each(t, func(t *testing.T, c reporttest.Case, code string, pdf []byte) {
		file := filepath.Join(t.TempDir(), "r.pdf")
		require.NoError(t, os.WriteFile(file, pdf, 0o644))
		run := func(name string, args ...string) string {
			out, err := exec.Command(name, args...).CombinedOutput()
			require.NoError(t, err, "%s: %s", name, out)
			return string(out)
		}
		require.Contains(t, run("qpdf", "--check", file), "No syntax or stream encoding errors found")
		for _, f := range strings.Split(strings.TrimSpace(run("pdffonts", file)), "\n")[2:] {
			require.Regexp(t, `^[A-Z]{6}\+\S+ +CID TrueType +Identity-H +yes yes yes`, f)
		}
		compare(t, c, code, strings.Join(strings.Fields(run("pdftotext", "-layout", file, "-")), " "))
	})
}

// BenchmarkReport is a report of twelve films with pictures and edge points; MB is its size.
func BenchmarkReport(b *testing.B) {
	years := make([]float64, 12)
	for i := range years {
		years[i] = 0.12 + float64(i)
	}
	t := &testing.T{}
	rep := told(t, reporttest.Hip(years, func(y float64) float64 { return 0.1 * y }, func(float64) float64 { return 0 }, 0.02))
	speech, _ := texts.In("en")
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := rep.PDF(&out, speech, print); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len())/1e6, "MB")
}

// What counts is a mean of two readers' films: each reading is in it, with its edge points.
func TestMeanCounts(t *testing.T) {
	r := reporttest.Cases()[0].Record
	for _, g := range slices.Clone(r.Readings) {
		g.ID, g.Reader = g.ID+"b", "R2"
		r.Readings = append(r.Readings, g)
	}
	rep := &reader.Report{Record: r, Reader: study.RuleMean}
	require.NoError(t, rep.Tell())
	require.Len(t, rep.Counting(), len(r.Readings))
	rep.Points = map[string]study.Points{}
	for _, id := range rep.Counting() {
		rep.Points[id] = study.Points{Head: study.EdgePoints{All: []study.Edge{{Angle: 90, Residual: 0.1}}, Fitted: []study.Pixel{{}}}}
	}
	speech, _ := texts.In("en")
	var b bytes.Buffer
	require.NoError(t, rep.PDF(&b, speech, print))
	text := words(t, b.Bytes())
	require.Equal(t, len(r.Readings), strings.Count(text, "counts in the mean"))
	require.NotContains(t, text, "another reading counts")
	require.Equal(t, len(r.Films), strings.Count(text, "2 of 2 points fitted"))
	require.Contains(t, text, "the mean of readers")
}
