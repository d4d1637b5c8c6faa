package result

import (
	"bytes"
	"image"
	"image/color"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// written writes a film of noise to a file of its own, with a name, and returns its data
// set.
func written(t testing.TB, f *dicomio.Film) (path string, header dicomio.Item) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "film.dcm")
	require.NoError(t, dicomio.WriteFile(path, f))
	header, err := dicomio.ReadItem(path)
	require.NoError(t, err)
	return path, header
}

func film() *dicomio.Film {
	img := image.NewGray16(image.Rect(0, 0, 30, 40))
	for i := range 30 * 40 { // no two ways of turning it are alike
		x, y := i%30, i/30
		img.SetGray16(x, y, color.Gray16{Y: uint16((131*x + 57*y*y + x*x*y) % 4096)})
	}
	return &dicomio.Film{Pixels: img, Rows: 40, Columns: 30, Bits: 12, Photometric: "MONOCHROME2", Modality: "DX", PatientCode: "LW-0007",
		Laterality: "R", View: "AP", Orientation: [2]string{"L", "F"}, Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC), DateSource: "study",
		Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.15}}}
}

// report is one with values of every kind.
func report(t testing.TB, f Film) Report {
	t.Helper()
	return Report{
		Film: f, Hip: "H2", Side: "right", Reading: "r17", Read: time.Date(2026, 11, 3, 9, 30, 1, 0, time.UTC),
		Groups: []Group{
			{Name: "head", Finding: Head, Outline: Circle(12.5, 20.25, 6.125), Numbers: []Number{
				{Of: Diameter, Value: 28, Unit: Millimetres, Method: Known},
				{Of: Scale, Value: 28 / 12.25, Unit: PerPixel, SE: 1.0 / 300, Method: ByHead},
			}},
			{Name: "cup", Finding: Shell, Outline: Circle(12.75, 20.5, 10)},
			{Name: "rim", Finding: Shell, Outline: &Outline{X: 13, Y: 21, A: 10.5, B: 3.25, Angle: 40}, Numbers: []Number{
				{Of: InclinedToRows, Value: 40, Unit: Degrees, SE: 0.7, Method: RimOfShell}}},
			{Name: "hip", Finding: Prosthesis, Numbers: []Number{
				{Of: MovedSuperior, Value: math.Pi / 10, Unit: Millimetres, SE: 0.04, Method: BeamByLine, Since: time.Date(2004, 6, 14, 0, 0, 0, 0, time.UTC)},
				{Of: MovedMedial, Value: -1e-300, Unit: Millimetres},
				{Of: Eccentricity, Value: 0.5, Unit: NoUnit},
			}},
		},
		Earlier: []Instance{{reports.class, "2.25.5", "2.25.6", f.Study}},
		Source:  Source{Program: "Linerwatch", Version: "0.9", Reader: "R1", Made: time.Date(2026, 11, 30, 12, 0, 5, 0, time.FixedZone("", 3600)), Number: 3},
	}
}

// encoded writes a data set to a file and reads it again.
func encoded(t testing.TB, i dicomio.Item, path string) dicomio.Item {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, i.Write(&b))
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
	again, err := dicomio.ReadItem(path)
	require.NoError(t, err)
	return again
}

// A report that is written and read again says the same, but for outlines, which are
// kept as 32-bit numbers.
func TestReportComesBack(t *testing.T) {
	_, header := written(t, film())
	f, err := FilmOf(header, 1)
	require.NoError(t, err)
	for name, change := range map[string]func(*Report){
		"as it is":     func(*Report) {},
		"a frame":      func(r *Report) { r.Film.Frame = 3 },
		"a left hip":   func(r *Report) { r.Side = "left" },
		"no side":      func(r *Report) { r.Side = "" },
		"none before":  func(r *Report) { r.Earlier = nil },
		"no numbers":   func(r *Report) { r.Groups = r.Groups[1:2] },
		"other zone":   func(r *Report) { r.Film.About.SetText(0x00080201, "SH", "+0530") },
		"other texts":  func(r *Report) { r.Hip, r.Reading, r.Reader = `A\B ä`, "re\nading", "Rä" },
		"tiny numbers": func(r *Report) { r.Groups[0].Numbers[0].Value = 5e-324 },
	} {
		t.Run(name, func(t *testing.T) {
			f, err := FilmOf(header, 1)
			require.NoError(t, err)
			want := report(t, f)
			change(&want)
			item, err := want.Item()
			require.NoError(t, err)
			got, err := ReadReport(encoded(t, item, filepath.Join(t.TempDir(), "r.dcm")))
			require.NoError(t, err)
			for k, g := range got.Groups {
				if o := want.Groups[k].Outline; o != nil {
					for n, v := range []float64{o.X - g.Outline.X, o.Y - g.Outline.Y, o.A - g.Outline.A, o.B - g.Outline.B, (o.Angle - g.Outline.Angle) / 10} {
						assert.InDelta(t, 0, v, 2e-6, "%s, %d", g.Name, n)
					}
					got.Groups[k].Outline = o
				}
			}
			assert.True(t, want.Made.Equal(got.Made))
			got.Made = want.Made
			assert.Equal(t, want, got)
			assert.Equal(t, want.UID(), got.UID())
			assert.Equal(t, want.UID(), item.Text(0x00080018))
		})
	}
	assert.Zero(t, f.Frame)
}

// The instance is the same as long as it says the same, however often it is written.
func TestReportHasTheUIDOfWhatItSays(t *testing.T) {
	_, header := written(t, film())
	f, err := FilmOf(header, 1)
	require.NoError(t, err)
	a := report(t, f)
	b := report(t, f)
	b.Made, b.Number = b.Made.Add(time.Hour), 9
	assert.Equal(t, a.Instance(), b.Instance())
	b.Groups[3].Numbers[0].Value += 1e-9
	assert.NotEqual(t, a.UID(), b.UID())
	b.Earlier = append(b.Earlier, a.Instance())
	item, err := b.Item()
	require.NoError(t, err)
	assert.Equal(t, a.UID(), item.Items(0x0040A360)[1].Item(0x00081115).Item(0x00081199).Text(0x00081155))
}

func TestReportThatIsNone(t *testing.T) {
	_, header := written(t, film())
	f, err := FilmOf(header, 1)
	require.NoError(t, err)
	for name, c := range map[string]struct {
		change func(*Report)
		err    string
	}{
		"not a number":    {func(r *Report) { r.Groups[0].Numbers[0].Value = math.NaN() }, "Diameter: NaN with a standard error of 0 is no measurement"},
		"without end":     {func(r *Report) { r.Groups[0].Numbers[1].SE = math.Inf(1) }, "with a standard error of +Inf is no measurement"},
		"negative error":  {func(r *Report) { r.Groups[0].Numbers[1].SE = -1 }, "with a standard error of -1"},
		"no outline":      {func(r *Report) { r.Groups[0].Outline.B = 0 }, "an outline about (12.5, 20.25) with half-axes 6.125 and 0 is none"},
		"outline nowhere": {func(r *Report) { r.Groups[0].Outline.X = math.NaN() }, "is none"},
		"no film":         {func(r *Report) { r.Film.UID = "" }, ErrNoIdentity.Error()},
		"no time":         {func(r *Report) { r.Read = time.Time{} }, "without its times"},
	} {
		t.Run(name, func(t *testing.T) {
			r := report(t, f)
			c.change(&r)
			_, err := r.Item()
			require.ErrorContains(t, err, c.err)
		})
	}
	_, err = ReadReport(header)
	require.ErrorIs(t, err, ErrNotReport)
	item, err := report(t, f).Item()
	require.NoError(t, err)
	for _, tag := range []uint32{0x0040A730, 0x0040A032, 0x0040A375, 0x0040A043} {
		less := encoded(t, item, filepath.Join(t.TempDir(), "r.dcm"))
		delete(less, tag)
		_, err := ReadReport(less)
		require.ErrorIs(t, err, ErrNotReport, "%08x", tag)
	}
	_, err = FilmOf(dicomio.Item{}, 1)
	require.ErrorIs(t, err, ErrNoIdentity)
}

// An outline that lies elsewhere passes through the places of its own points.
func TestOutlineAtAPlace(t *testing.T) {
	f := film()
	for _, o := range []Outline{*Circle(12, 20, 6), {X: 12, Y: 20, A: 6, B: 2.5, Angle: 33}} {
		for _, way := range [][2]string{{"L", "F"}, {"R", "F"}, {"F", "L"}, {"H", "R"}} {
			for _, mm := range [][2]float64{{0.15, 0.15}, {0.15, 0.2}, {0.25, 0.15}} {
				f.Orientation, f.Geometry.Imager = way, mm
				p := f.Place()
				got := o.At(p)
				sin, cos := math.Sincos(got.Angle * math.Pi / 180)
				for deg := range 360 {
					s, c := math.Sincos(float64(deg) * math.Pi / 180)
					s0, c0 := math.Sincos(o.Angle * math.Pi / 180)
					x, y := p.Point(o.X+o.A*c*c0-o.B*s*s0, o.Y+o.A*c*s0+o.B*s*c0)
					u, v := (x-got.X)*cos+(y-got.Y)*sin, (y-got.Y)*cos-(x-got.X)*sin
					require.InDelta(t, 1, math.Hypot(u/got.A, v/got.B), 1e-9, "%v %v", way, mm)
				}
				shape, _ := got.graphic()
				assert.Equal(t, o.A == o.B && mm[0] == mm[1], shape == "CIRCLE", "a circle where the film's pixels are square")
			}
		}
	}
}

func picture() image.Image {
	img := image.NewRGBA(image.Rect(5, 5, 10, 8)) // an odd number of bytes
	img.Set(6, 5, color.RGBA{1, 2, 3, 255})
	return img
}

func TestCapture(t *testing.T) {
	_, header := written(t, film())
	f, err := FilmOf(header, 1)
	require.NoError(t, err)
	r := report(t, f)
	item, err := Capture{Film: f, Hip: "H2", Side: "right", Picture: picture(), Of: r.UID(), BurnsIn: "YES", Lossy: true, Source: r.Source}.Item()
	require.NoError(t, err)
	assert.Equal(t, []byte{0, 0, 0, 1, 2, 3, 0, 0, 0}, item[0x7FE00010].Bytes[:9])
	assert.Len(t, item[0x7FE00010].Bytes, 45)
	again := encoded(t, item, filepath.Join(t.TempDir(), "c.dcm"))
	assert.Equal(t, f.UID, again.Item(0x00082112).Text(0x00081155))
	assert.Equal(t, []float64{3}, again.Numbers(0x00280010))
}

// The greys of a state are those in which the program shows the film.
func TestStateShowsTheFilmsGreys(t *testing.T) {
	for name, c := range map[string]struct {
		change        func(*dicomio.Film)
		center, width []float64
		shape         string
	}{
		"none stated": {func(*dicomio.Film) {}, []float64{2048}, []float64{4096}, "IDENTITY"},
		"a window": {func(f *dicomio.Film) {
			f.Greys.Windows = []dicomio.Window{{Center: 1000, Width: 300, Function: "SIGMOID"}}
		}, []float64{1000}, []float64{300}, "IDENTITY"},
		"inverse": {func(f *dicomio.Film) { f.Photometric = "MONOCHROME1" }, []float64{2048}, []float64{4096}, "INVERSE"},
	} {
		t.Run(name, func(t *testing.T) {
			f := film()
			c.change(f)
			path, _ := written(t, f)
			opened, err := dicomio.Open(path)
			require.NoError(t, err)
			g := GreysOf(opened)
			voi := g.Item(0x00283110)
			assert.Equal(t, c.center, voi.Numbers(0x00281050))
			assert.Equal(t, c.width, voi.Numbers(0x00281051))
			assert.Equal(t, c.shape, g.Text(0x20500020))
		})
	}
}

func TestRatio(t *testing.T) {
	for v, want := range map[float64][2]int{1: {1, 1}, 1.25: {5, 4}, 0.15 / 0.2: {3, 4}, 4: {4, 1}} {
		a, b := ratio(v)
		assert.Equal(t, want, [2]int{a, b})
	}
	a, b := ratio(math.Sqrt2)
	assert.InEpsilon(t, math.Sqrt2, float64(a)/float64(b), 1e-4)
}

// A report that lacks any one element, or has nothing in it, is read or refused.
func TestReportWithoutAnElement(t *testing.T) {
	_, header := written(t, film())
	f, err := FilmOf(header, 1)
	require.NoError(t, err)
	item, err := report(t, f).Item()
	require.NoError(t, err)
	read, refused := 0, 0
	try := func() {
		if _, err := ReadReport(item); err == nil {
			read++
		} else {
			require.ErrorIs(t, err, ErrNotReport)
			refused++
		}
	}
	var each func(dicomio.Item)
	each = func(i dicomio.Item) {
		for tag, v := range i {
			for _, below := range v.Items {
				each(below)
			}
			delete(i, tag)
			try()
			i[tag] = dicomio.Value{VR: v.VR}
			try()
			i[tag] = v
		}
	}
	each(item)
	assert.Greater(t, read, 100)
	assert.Greater(t, refused, 20)
}
