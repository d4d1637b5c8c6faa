package ui

import (
	"flag"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/patient"
	"linerwatch/app/study"
)

var update = flag.Bool("update", false, "write the golden pictures anew")

func TestTrendPicture(t *testing.T) {
	d, _ := proposed(t, series...)
	tr, err := d.s.Trend()
	require.NoError(t, err)
	last := d.s.Strip().Films()[3].ID
	img, points := drawTrend(plotContent{Trend: tr, Current: last, Drafts: map[string]bool{last: true}}, 640, 220, 1)
	require.Len(t, points, 4)
	for _, p := range points {
		require.True(t, image.Pt(int(p.X), int(p.Y)).In(img.Rect))
	}
	sameAsGolden(t, "trend.png", img)
}

// sameAsGolden compares a picture with one of testdata: at most 1 % of the values
// may differ by more than 4 levels.
func sameAsGolden(t *testing.T, name string, img *image.RGBA) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, write(path, img))
		return
	}
	r, err := os.Open(path)
	require.NoError(t, err)
	defer r.Close()
	m, err := png.Decode(r)
	require.NoError(t, err)
	want := image.NewRGBA(m.Bounds())
	draw.Draw(want, want.Rect, m, m.Bounds().Min, draw.Src)
	require.Equal(t, want.Rect, img.Rect)
	n := 0
	for i := range want.Pix {
		if d := int(want.Pix[i]) - int(img.Pix[i]); d > 4 || d < -4 {
			n++
		}
	}
	require.Less(t, float64(n), 0.01*float64(len(want.Pix)))
}

// left is a longer series with a stray film, of which the third is left out, and
// its desk.
func left(t *testing.T) *desk {
	d, _ := proposed(t, append([]string{"2007-01-01.dcm", "2010-01-01.dcm"}, series...)...)
	d.s.Strip().Select(4)
	d.s.Edits().Nudge(0, -0.4)
	d.s.Strip().Films()[2].Excluded = &study.Exclusion{Code: "projection"}
	d.s.Course().TryStart(0.5)
	d.drain()
	return d
}

func TestTrendPageChart(t *testing.T) {
	d := left(t)
	tr, err := d.s.Trend()
	require.NoError(t, err)
	models := tr.Models(study.Superior)
	c := courseContent{Trend: tr, Model: models[0], Aside: d.s.Course().Aside(), Until: 12, Markers: true, Drafts: map[string]bool{d.s.Strip().Films()[5].ID: true}}
	require.Len(t, c.Aside, 1)
	img, places := drawCourse(c, 800, 520, 1)
	require.Len(t, places.films, 6, "the film left out can be pointed at")
	require.Len(t, places.markers, 2)
	sameAsGolden(t, "course.png", img)
}

func TestPatientChart(t *testing.T) {
	d := left(t)
	tr, err := d.s.Trend()
	require.NoError(t, err)
	sameAsGolden(t, "patient.png", drawPlain(tr, patient.New(patient.Hip{Hip: tr.Hip, Trend: tr}, speechOf("en")), 640, 320, 1))
}

func write(path string, img image.Image) error {
	w, err := os.Create(path)
	if err != nil {
		return err
	}
	if err := png.Encode(w, img); err != nil {
		return err
	}
	return w.Close()
}

func TestRoundTicks(t *testing.T) {
	for _, c := range []struct {
		name   string
		ticks  roundTicks
		lo, hi float64
		want   []string
	}{
		{"whole years", roundTicks{12, 1}, 0, 9.4, []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"}},
		{"wide apart", roundTicks{4, 1}, 0, 9.4, []string{"0", "5"}},
		{"tenths of mm", roundTicks{5, 0.1}, -0.13, 0.6, []string{"0", "0.2", "0.4", "0.6"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, k := range c.ticks.Ticks(c.lo, c.hi) {
				got = append(got, k.Label)
			}
			require.Equal(t, c.want, got)
		})
	}
}
