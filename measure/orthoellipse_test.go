package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

type planeEllipse struct {
	XC, YC, A, B, RSS float64
	Angle             float64 `json:"angle_deg"`
}

func assertEllipse(t *testing.T, want planeEllipse, got measure.Ellipse, tol float64) {
	t.Helper()
	tol *= want.A
	assert.InDelta(t, want.XC, got.X, tol)
	assert.InDelta(t, want.YC, got.Y, tol)
	assert.InDelta(t, want.A, got.A, tol)
	assert.InDelta(t, want.B, got.B, tol)
	turn := math.Remainder(want.Angle-got.Angle, 180) * math.Pi / 180 * (want.A - want.B)
	assert.InDelta(t, 0, turn, tol, "turn of %g against %g", got.Angle, want.Angle)
}

// The references are scipy 1.10.1: the direct fit from its eigenproblem, the
// geometric one by least squares over centre, axes, angle and every foot point
// from many starts; ten digits are printed.
func TestFitEllipseReference(t *testing.T) {
	var ggs struct {
		Points    [][2]float64
		Published struct {
			Geometric struct {
				XC, YC, A, B float64
				Angle        float64 `json:"angle_rad"`
			}
		}
		Computed map[string]planeEllipse
	}
	loadJSON(t, "hip/ggs_ellipse.json", &ggs)
	direct, err := measure.DirectEllipse(pointsOf(ggs.Points), nil)
	require.NoError(t, err)
	assertEllipse(t, ggs.Computed["direct_halir_flusser"], direct, 1e-8)
	f, err := measure.FitEllipse(pointsOf(ggs.Points), nil)
	require.NoError(t, err)
	assertEllipse(t, ggs.Computed["geometric"], f.Ellipse, 1e-7)
	// Gander, Golub & Strebel print four decimals, the angle in radians.
	p := ggs.Published.Geometric
	assertEllipse(t, planeEllipse{XC: p.XC, YC: p.YC, A: p.A, B: p.B, Angle: p.Angle * 180 / math.Pi}, f.Ellipse, 2.7e-5)

	var ref struct {
		Sets map[string]struct {
			Direct    planeEllipse `json:"direct_halir_flusser"`
			Geometric planeEllipse
		}
	}
	loadJSON(t, "hip/ellipse_fits.json", &ref)
	points := pointSets(t, "hip/ellipse_points.csv")
	require.Len(t, ref.Sets, 5)
	for name, want := range ref.Sets {
		t.Run(name, func(t *testing.T) {
			direct, err := measure.DirectEllipse(points[name], nil)
			require.NoError(t, err)
			assertEllipse(t, want.Direct, direct, 1e-8)
			f, err := measure.FitEllipse(points[name], nil)
			require.NoError(t, err)
			assertEllipse(t, want.Geometric, f.Ellipse, 1e-7)
			var rss float64
			for _, r := range f.Residuals {
				rss += r * r
			}
			assert.InEpsilon(t, want.Geometric.RSS, rss, 1e-8)
			assert.InEpsilon(t, math.Sqrt(rss/float64(len(points[name]))), f.RMS, 1e-12)
		})
	}
}

// TestFitEllipseScatter compares the stated covariance with the scatter of
// simulated fits.
func TestFitEllipseScatter(t *testing.T) {
	truth := measure.Ellipse{X: 900, Y: 700, A: 160, B: 42, Angle: 40}
	rng := rand.New(rand.NewPCG(31, 32))
	const n, sigma, fits = 120, 0.2, 2000
	points := make([]measure.Point, n)
	var squares, stated [5]float64
	for range fits {
		for i := range points {
			p := truth.At(200 * float64(i) / n)
			points[i] = measure.Point{X: p.X + sigma*rng.NormFloat64(), Y: p.Y + sigma*rng.NormFloat64()}
		}
		f, err := measure.FitEllipse(points, nil)
		require.NoError(t, err)
		for i, d := range []float64{f.X - truth.X, f.Y - truth.Y, f.A - truth.A, f.B - truth.B, (f.Angle - truth.Angle) * math.Pi / 180} {
			squares[i] += d * d / fits
			stated[i] += f.Cov[i][i] / fits
		}
	}
	for i := range squares {
		// The scatter of a standard deviation from 2000 draws is 1.6 %.
		assert.InEpsilon(t, math.Sqrt(squares[i]), math.Sqrt(stated[i]), 0.05, "parameter %d", i)
	}
}

func TestFitEllipseDegenerate(t *testing.T) {
	line := []measure.Point{{}, {X: 1, Y: 1}, {X: 2, Y: 2}, {X: 3, Y: 3}, {X: 4, Y: 4}, {X: 5, Y: 5}, {X: 6, Y: 6}}
	cross := []measure.Point{{}, {X: 1, Y: 1}, {X: 2, Y: 2}, {X: -1, Y: -1}, {X: 1, Y: -1}, {X: 2, Y: -2}, {X: -1, Y: 1}}
	for _, c := range []struct {
		name   string
		points []measure.Point
		want   error
	}{
		{"five points", line[:5], measure.ErrTooFewForEllipse},
		{"no points", nil, measure.ErrTooFewForEllipse},
		{"a line", line, measure.ErrCollinear},
		{"one place", make([]measure.Point, 8), measure.ErrCoincident},
		{"not a number", append(line[:6:6], measure.Point{X: math.NaN()}), measure.ErrNotFinite},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := measure.FitEllipse(c.points, nil)
			assert.ErrorIs(t, err, c.want)
		})
	}
	// A cross of two lines has no best ellipse but a finite or refused one.
	if f, err := measure.FitEllipse(cross, nil); err == nil {
		assert.False(t, math.IsNaN(f.X+f.Y+f.A+f.B+f.Angle+f.RMS))
	}
	// Points on a circle are an ellipse of equal axes.
	var round []measure.Point
	for i := range 30 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 15)
		round = append(round, measure.Point{X: 50 + 7*cos, Y: 60 + 7*sin})
	}
	f, err := measure.FitEllipse(round, nil)
	require.NoError(t, err)
	assertEllipse(t, planeEllipse{XC: 50, YC: 60, A: 7, B: 7}, f.Ellipse, 1e-9)
}

// FuzzFitEllipse asks for an error or a finite ellipse, whatever the points.
func FuzzFitEllipse(f *testing.F) {
	f.Add(uint64(1), 8, 1.0)
	f.Add(uint64(7), 40, 1e8)
	f.Add(uint64(9), 6, 1e-12)
	f.Fuzz(func(t *testing.T, seed uint64, n int, far float64) {
		rng := rand.New(rand.NewPCG(seed, 1))
		points := make([]measure.Point, max(0, min(n, 60)))
		for i := range points {
			points[i] = measure.Point{X: far + math.Round(8*rng.Float64()), Y: far - math.Round(8*rng.Float64())}
		}
		e, err := measure.FitEllipse(points, nil)
		if err != nil {
			return
		}
		for _, v := range append([]float64{e.X, e.Y, e.A, e.B, e.Angle, e.RMS, e.Cov[0][0], e.Cov[4][4]}, e.Residuals...) {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("not finite: %+v", e)
			}
		}
	})
}

func ExampleFitEllipse() {
	// The points of Gander, Golub & Strebel (1994).
	points := []measure.Point{{X: 1, Y: 7}, {X: 2, Y: 6}, {X: 5, Y: 8}, {X: 7, Y: 7}, {X: 9, Y: 5}, {X: 3, Y: 7}, {X: 6, Y: 2}, {X: 8, Y: 4}}
	f, err := measure.FitEllipse(points, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.4f, %.4f), semi-axes %.4f and %.4f\n", f.X, f.Y, f.A, f.B)
	// Output: centre (2.6996, 3.8160), semi-axes 6.5187 and 3.0319
}

func ExampleDirectEllipse() {
	rim := measure.Ellipse{X: 900, Y: 700, A: 160, B: 42, Angle: 40}
	var points []measure.Point
	for t := range 36 {
		points = append(points, rim.At(10*float64(t)))
	}
	e, err := measure.DirectEllipse(points, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.1f, %.1f), semi-axes %.1f and %.1f at %.1f degrees\n", e.X, e.Y, e.A, e.B, e.Angle)
	// Output: centre (900.0, 700.0), semi-axes 160.0 and 42.0 at 40.0 degrees
}

func BenchmarkFitEllipse(b *testing.B) {
	rim := measure.Ellipse{X: 900, Y: 700, A: 160, B: 42, Angle: 40}
	rng := rand.New(rand.NewPCG(1, 2))
	var points []measure.Point
	for i := range 360 {
		p := rim.At(float64(i))
		points = append(points, measure.Point{X: p.X + 0.2*rng.NormFloat64(), Y: p.Y + 0.2*rng.NormFloat64()})
	}
	for b.Loop() {
		if _, err := measure.FitEllipse(points, nil); err != nil {
			b.Fatal(err)
		}
	}
}
