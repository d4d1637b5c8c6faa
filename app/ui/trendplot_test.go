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
)

var update = flag.Bool("update", false, "write the golden pictures anew")

// TestTrendPicture compares the trend plot to the golden one: at most 1 % of the
// pixels may differ by more than 4 levels.
func TestTrendPicture(t *testing.T) {
	d, _ := proposed(t, series...)
	tr, err := d.s.Trend()
	require.NoError(t, err)
	last := d.s.Films()[3].ID
	img, points := drawTrend(plotContent{Trend: tr, Current: last, Drafts: map[string]bool{last: true}}, 640, 220, 1)
	require.Len(t, points, 4)
	for _, p := range points {
		require.True(t, image.Pt(int(p.X), int(p.Y)).In(img.Rect))
	}
	path := filepath.Join("testdata", "trend.png")
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
