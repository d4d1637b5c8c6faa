package report_test

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// TestTrendPNG compares the figure with a golden picture; a mean difference of
// one grey level allows for another rasteriser of letters.
func TestTrendPNG(t *testing.T) {
	two := trend(t)
	two.Fit = nil
	for _, c := range []struct {
		name   string
		trends []study.Trend
		size   image.Point
	}{
		{"trend.png", []study.Trend{trend(t)}, image.Point{}},
		{"trend-no-fit.png", []study.Trend{two}, image.Pt(800, 500)},
		{"trends.png", []study.Trend{trend(t), {}, two, trend(t)}, image.Pt(600, 400)},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b bytes.Buffer
			require.NoError(t, report.TrendsPNG(&b, c.trends, c.size))
			path := filepath.Join("testdata", c.name)
			if *update {
				require.NoError(t, os.WriteFile(path, b.Bytes(), 0o644))
			}
			got, err := png.Decode(&b)
			require.NoError(t, err)
			f, err := os.Open(path)
			require.NoError(t, err)
			want, err := png.Decode(f)
			require.NoError(t, err)
			require.NoError(t, f.Close())
			require.Equal(t, want.Bounds(), got.Bounds())
			require.Less(t, difference(got, want), 1.0)
		})
	}
}

// difference is the mean absolute difference of all channels, of 255.
func difference(a, b image.Image) float64 {
	var sum float64
	r := a.Bounds()
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			ar, ag, ab, _ := a.At(x, y).RGBA()
			br, bg, bb, _ := b.At(x, y).RGBA()
			for _, d := range []float64{float64(ar) - float64(br), float64(ag) - float64(bg), float64(ab) - float64(bb)} {
				sum += math.Abs(d) / 257 / 3
			}
		}
	}
	return sum / float64(r.Dx()*r.Dy())
}

func TestTrendPNGRefuses(t *testing.T) {
	require.EqualError(t, report.TrendPNG(&bytes.Buffer{}, study.Trend{}, image.Point{}), "report: no measured film, so no figure")
	require.EqualError(t, report.TrendPNG(&bytes.Buffer{}, trend(t), image.Pt(10, 10)),
		"report: a figure of 10 x 10 pixels is outside 320 x 240 to 10000 x 10000")
}
