package fit_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// arcOf returns points on c from one angle to another, each moved outwards by out.
func arcOf(c measure.Circle, n int, from, to float64, out func(i int, angle float64) float64) (points []measure.Point, angles []float64) {
	for i := range n {
		a := (from + (to-from)*float64(i)/float64(n-1)) * math.Pi / 180
		sin, cos := math.Sincos(a)
		r := c.R + out(i, a)
		points, angles = append(points, measure.Point{X: c.X + r*cos, Y: c.Y + r*sin}), append(angles, a)
	}
	return points, angles
}

func TestDepartedIsCircle(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	truth := measure.Circle{X: 301, Y: 287, R: 120}
	points, _ := arcOf(truth, 200, 10, 190, func(int, float64) float64 { return 0.3 * rng.NormFloat64() })
	want, err := fit.Circle(points, truth)
	require.NoError(t, err)
	d := fit.Departed{Circle: measure.Circle{X: 304, Y: 285, R: 117}}
	require.True(t, d.Near(points, slices.Repeat([]float64{1}, len(points)), nil, 0, 20))
	assert.InDelta(t, want.X, d.X, 1e-5) // it stops at steps of 1e-6 px
	assert.InDelta(t, want.Y, d.Y, 1e-5)
	assert.InDelta(t, want.R, d.R, 1e-5)
	v := want.RMS * want.RMS * 200 / 197
	for i := range want.Cov {
		for j := range want.Cov {
			// The fit leaves out the curvature of the residuals, 0.3 px of 120.
			assert.InDelta(t, want.Cov[i][j], v*d.Inverse[i][j], 0.005*want.Cov[1][1])
		}
	}
}

func TestDepartedTerms(t *testing.T) {
	truth := measure.Circle{X: 301, Y: 287, R: 120}
	points, angles := arcOf(truth, 150, -100, 60, func(_ int, a float64) float64 { return 0.4 * math.Cos(2*a) })
	weights := slices.Repeat([]float64{1}, len(points))
	term := fit.Term{Along: make([]float64, len(points))}
	for i, a := range angles {
		term.Along[i] = math.Cos(2 * a)
	}
	t.Run("free", func(t *testing.T) {
		term.SD = 1e3
		d := fit.Departed{Circle: measure.Circle{X: 300, Y: 288, R: 119}}
		require.True(t, d.Near(points, weights, []fit.Term{term}, 0.01, 20))
		// The angle is seen from the centre to 0.4 px of 120.
		assert.InDelta(t, truth.X, d.X, 0.005)
		assert.InDelta(t, truth.Y, d.Y, 0.005)
		assert.InDelta(t, 0.4, d.Coefficients[0], 0.005)
	})
	t.Run("held", func(t *testing.T) {
		term.SD = 1e-6
		d := fit.Departed{Circle: measure.Circle{X: 300, Y: 288, R: 119}}
		require.True(t, d.Near(points, weights, []fit.Term{term}, 0.01, 20))
		plain, err := fit.Circle(points, truth)
		require.NoError(t, err)
		assert.InDelta(t, 0, d.Coefficients[0], 1e-6)
		assert.InDelta(t, plain.X, d.X, 1e-5)
		assert.InDelta(t, plain.R, d.R, 1e-5)
	})
	t.Run("no points", func(t *testing.T) {
		d := fit.Departed{Circle: truth}
		assert.False(t, d.Near(points, make([]float64, len(points)), []fit.Term{term}, 0.01, 20))
	})
}

// Errors that neighbours share: the sandwich must state the scatter of the fits, and
// where every point errs alone what the plain covariance states too.
func TestSandwichScatter(t *testing.T) {
	truth := measure.Circle{X: 301, Y: 287, R: 120}
	rng := rand.New(rand.NewPCG(7, 8))
	const n, blocks, fits = 240, 16, 2000
	for _, c := range []struct {
		name       string
		own, block float64 // standard deviations, px
	}{{"alone", 0.3, 0}, {"together", 0.1, 0.2}} {
		t.Run(c.name, func(t *testing.T) {
			var squares, stated [3]float64
			for range fits {
				var shift [blocks]float64
				for i := range shift {
					shift[i] = c.block * rng.NormFloat64()
				}
				points, _ := arcOf(truth, n, -30, 210, func(i int, _ float64) float64 { return shift[i*blocks/n] + c.own*rng.NormFloat64() })
				d := fit.Departed{Circle: truth}
				require.True(t, d.Near(points, slices.Repeat([]float64{1}, n), nil, 0, 10))
				all := make([]fit.Block, blocks)
				for i, p := range points {
					all[i*blocks/n].Add(1, d.Residual(i, p, nil), d.Row(i, p, nil))
				}
				cov, ok := fit.Sandwich(all, fit.Row{}, 0)
				require.True(t, ok)
				for i, v := range []float64{d.X - truth.X, d.Y - truth.Y, d.R - truth.R} {
					squares[i] += v * v / fits
					stated[i] += cov[i][i] / fits
				}
			}
			for i := range squares {
				// A block that was left out counts more than it errs: on the safe side, by
				// less the more blocks there are.
				ratio := math.Sqrt(stated[i] / squares[i])
				assert.Greater(t, ratio, 0.98, "parameter %d", i)
				assert.Less(t, ratio, 1.25, "parameter %d", i)
			}
		})
	}
}

func TestSandwichOneBlock(t *testing.T) {
	points, _ := arcOf(measure.Circle{R: 50}, 90, 0, 360, func(int, float64) float64 { return 0 })
	d := fit.Departed{Circle: measure.Circle{R: 50}}
	all := make([]fit.Block, 3)
	for i, p := range points {
		all[1].Add(1, 0.1, d.Row(i, p, nil))
	}
	_, ok := fit.Sandwich(all, fit.Row{}, 0)
	assert.False(t, ok)
}
