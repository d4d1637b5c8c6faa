package fit_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// scaled returns points k times as large, each as often as asked.
func scaled(points []measure.Point, k float64, often int) (out []measure.Point) {
	for _, p := range points {
		out = append(out, slices.Repeat([]measure.Point{{X: k * p.X, Y: k * p.Y}}, often)...)
	}
	return out
}

// off returns an ellipse a few px from e, for a fit to start from.
func off(e measure.Ellipse) measure.Ellipse {
	return measure.Ellipse{X: e.X + 2, Y: e.Y - 1.5, A: e.A + 3, B: e.B - 2, Angle: e.Angle + 0.7}
}

// large returns e k times as large.
func (e planeEllipse) large(k float64) measure.Ellipse {
	return measure.Ellipse{X: k * e.XC, Y: k * e.YC, A: k * e.A, B: k * e.B, Angle: e.Angle}
}

// The references are scipy 1.10.1: least squares over centre, axes, angle and every
// foot point from many starts; ten digits are printed. The fit asks for 12 points
// and stops at a thousandth of a px, so that the eight of Gander, Golub & Strebel
// count twice and all are laid out some 200 px large.
func TestEllipseReference(t *testing.T) {
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
	loadJSON(t, "ggs_ellipse.json", &ggs)
	want := ggs.Computed["geometric"]
	f, err := fit.Ellipse(scaled(pointsOf(ggs.Points), 30, 2), nil, nil, off(want.large(30)))
	require.NoError(t, err)
	small := f.Ellipse
	small.X, small.Y, small.A, small.B = f.X/30, f.Y/30, f.A/30, f.B/30
	assertEllipse(t, want, small, 1e-5)
	// Gander, Golub & Strebel print four decimals, the angle in radians.
	p := ggs.Published.Geometric
	assertEllipse(t, planeEllipse{XC: p.XC, YC: p.YC, A: p.A, B: p.B, Angle: p.Angle * 180 / math.Pi}, small, 2.7e-5)

	var ref struct {
		Sets map[string]struct{ Geometric planeEllipse }
	}
	loadJSON(t, "ellipse_fits.json", &ref)
	points := pointSets(t, "ellipse_points.csv")
	require.Len(t, ref.Sets, 5)
	for name, set := range ref.Sets {
		t.Run(name, func(t *testing.T) {
			const k = 10
			want := set.Geometric
			f, err := fit.Ellipse(scaled(points[name], k, 1), nil, nil, off(want.large(k)))
			require.NoError(t, err)
			assertEllipse(t, planeEllipse{XC: k * want.XC, YC: k * want.YC, A: k * want.A, B: k * want.B, Angle: want.Angle}, f.Ellipse, 2e-6)
			var rss float64
			for _, r := range f.Residuals {
				rss += r * r
			}
			assert.InEpsilon(t, want.RSS*k*k, rss, 1e-5)
			assert.InEpsilon(t, math.Sqrt(rss/float64(len(points[name]))), f.RMS, 1e-12)
		})
	}
}

// pointSets reads the points of each named set.
func pointSets(t *testing.T, name string) map[string][]measure.Point {
	t.Helper()
	sets := map[string][]measure.Point{}
	for _, row := range readAll(t, name)[1:] {
		var p measure.Point
		_, err := fmt.Sscan(row[2]+" "+row[3], &p.X, &p.Y)
		require.NoError(t, err)
		sets[row[0]] = append(sets[row[0]], p)
	}
	return sets
}

// TestEllipseScatter compares the stated covariance with the scatter of
// simulated fits.
func TestEllipseScatter(t *testing.T) {
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
		f, err := fit.Ellipse(points, nil, nil, off(truth))
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

func TestEllipseDegenerate(t *testing.T) {
	start := measure.Ellipse{X: 50, Y: 60, A: 40, B: 20, Angle: 10}
	var line, on []measure.Point
	for i := range 30 {
		line = append(line, measure.Point{X: float64(2 * i), Y: float64(2 * i)})
		on = append(on, start.At(12*float64(i)))
	}
	for _, c := range []struct {
		name    string
		points  []measure.Point
		weights []float64
		want    error
	}{
		{name: "eleven points", points: on[:11], want: fit.ErrTooFewForEllipse},
		{name: "eleven that count", points: on[:12], weights: []float64{11: 0}, want: fit.ErrTooFewForEllipse},
		{name: "no points", want: fit.ErrTooFewForEllipse},
		{name: "a line", points: line, want: measure.ErrNotEllipse},
		{name: "one place", points: make([]measure.Point, 20), want: measure.ErrNotEllipse},
		{name: "not a number", points: append(on[:29:29], measure.Point{X: math.NaN()}), want: measure.ErrNotEllipse},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := fit.Ellipse(c.points, nil, c.weights, start)
			assert.ErrorIs(t, err, c.want)
		})
	}
}

// FuzzEllipse asks for an error or a finite ellipse, whatever the points.
func FuzzEllipse(f *testing.F) {
	f.Add(uint64(1), 18, 1.0, 4.0)
	f.Add(uint64(7), 40, 1e8, 4.0)
	f.Add(uint64(9), 16, 1e-12, 0.0)
	f.Fuzz(func(t *testing.T, seed uint64, n int, far, b float64) {
		rng := rand.New(rand.NewPCG(seed, 1))
		points := make([]measure.Point, max(0, min(n, 60)))
		for i := range points {
			points[i] = measure.Point{X: far + math.Round(8*rng.Float64()), Y: far - math.Round(8*rng.Float64())}
		}
		e, err := fit.Ellipse(points, nil, nil, measure.Ellipse{X: far + 4, Y: far - 4, A: 5, B: b})
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

func ExampleEllipse() {
	rim := measure.Ellipse{X: 900, Y: 700, A: 160, B: 42, Angle: 40}
	var points []measure.Point
	for t := range 36 {
		points = append(points, rim.At(10*float64(t)))
	}
	start := measure.Ellipse{X: 903, Y: 698, A: 164, B: 40, Angle: 42}
	f, err := fit.Ellipse(points, nil, nil, start)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.1f, %.1f), semi-axes %.1f and %.1f at %.1f degrees\n", f.X, f.Y, f.A, f.B, f.Angle)
	// Output: centre (900.0, 700.0), semi-axes 160.0 and 42.0 at 40.0 degrees
}

func BenchmarkEllipse(b *testing.B) {
	rim := measure.Ellipse{X: 900, Y: 700, A: 160, B: 42, Angle: 40}
	rng := rand.New(rand.NewPCG(1, 2))
	var points []measure.Point
	for i := range 360 {
		p := rim.At(float64(i))
		points = append(points, measure.Point{X: p.X + 0.2*rng.NormFloat64(), Y: p.Y + 0.2*rng.NormFloat64()})
	}
	for b.Loop() {
		if _, err := fit.Ellipse(points, nil, nil, off(rim)); err != nil {
			b.Fatal(err)
		}
	}
}
