package fit_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

func ExampleCircle() {
	points := []measure.Point{{X: 1, Y: 7}, {X: 2, Y: 6}, {X: 5, Y: 8}, {X: 7, Y: 7}, {X: 9, Y: 5}, {X: 3, Y: 7}}
	f, err := fit.Circle(points, measure.Circle{X: 4, Y: 4, R: 5})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.4f, %.4f), radius %.4f\n", f.X, f.Y, f.R)
	// Output: centre (4.7398, 2.9835), radius 4.7142
}

func pointsOf(xy [][2]float64) []measure.Point {
	var points []measure.Point
	for _, p := range xy {
		points = append(points, measure.Point{X: p[0], Y: p[1]})
	}
	return points
}

// off returns a circle near one, for a fit to start from.
func off(x, y, r float64) measure.Circle {
	return measure.Circle{X: x + 0.05*r, Y: y - 0.04*r, R: 1.03 * r}
}

func TestCircleGanderGolubStrebel(t *testing.T) {
	var ref struct {
		Points    [][2]float64
		Published struct{ Geometric struct{ XC, YC, R float64 } }
		Computed  struct {
			Geometric struct {
				XC, YC, R, RSS float64
				Cov            [3][3]float64
			}
		}
	}
	loadJSON(t, "ggs_circle.json", &ref)
	f, err := fit.Circle(pointsOf(ref.Points), measure.Circle{X: 4, Y: 4, R: 5})
	require.NoError(t, err)
	// Gander, Golub & Strebel, BIT 1994;34:558-578 print four decimals.
	assert.InDelta(t, ref.Published.Geometric.XC, f.X, 5e-5)
	assert.InDelta(t, ref.Published.Geometric.YC, f.Y, 5e-5)
	assert.InDelta(t, ref.Published.Geometric.R, f.R, 5e-5)
	// scipy 1.10.1, optimize.least_squares followed by Newton steps.
	g := ref.Computed.Geometric
	assert.InDelta(t, g.XC, f.X, 1e-9*g.R)
	assert.InDelta(t, g.YC, f.Y, 1e-9*g.R)
	assert.InDelta(t, g.R, f.R, 1e-9*g.R)
	assertCov(t, g.Cov, f.Cov, 1e-7)
	var rss float64
	for _, r := range f.Residuals {
		rss += r * r
	}
	assert.InDelta(t, g.RSS, rss, 1e-9)
	assert.InDelta(t, math.Sqrt(g.RSS/6), f.RMS, 1e-9)
}

func TestCircleArcs(t *testing.T) {
	type planeFit struct {
		XC, YC, R float64
		Cov       *[3][3]float64
	}
	var ref struct {
		Sets map[string]map[string]json.RawMessage
	}
	loadJSON(t, "arc_fits.json", &ref)
	points := map[string][]measure.Point{}
	for _, row := range readAll(t, "arc_points.csv")[1:] {
		x, errX := strconv.ParseFloat(row[2], 64)
		y, errY := strconv.ParseFloat(row[3], 64)
		require.NoError(t, errX)
		require.NoError(t, errY)
		points[row[0]] = append(points[row[0]], measure.Point{X: x, Y: y})
	}
	require.Len(t, points, len(ref.Sets))
	for name, methods := range ref.Sets {
		t.Run(name, func(t *testing.T) {
			var want planeFit // scipy 1.10.1, as above; the points carry six decimals
			raw, ok := methods["geometric"]
			if !ok {
				raw = methods["expected_geometric"] // the fit of arc120_s005_n60, moved with its points
			}
			require.NoError(t, json.Unmarshal(raw, &want))
			f, err := fit.Circle(points[name], off(want.XC, want.YC, want.R))
			require.NoError(t, err)
			tol := 1e-7 * want.R
			assert.InDelta(t, want.XC, f.X, tol)
			assert.InDelta(t, want.YC, f.Y, tol)
			assert.InDelta(t, want.R, f.R, tol)
			if want.Cov != nil {
				assertCov(t, *want.Cov, f.Cov, 1e-6)
			}
			if rest, ok := strings.CutPrefix(name, "arc"); ok {
				arc, err := strconv.ParseFloat(rest[:strings.Index(rest, "_")], 64)
				require.NoError(t, err)
				assert.InDelta(t, arc, f.Arc, 0.04*arc+2, "arc, which scatter makes longer")
			}
		})
	}
}

func TestCircleExactAndDegenerate(t *testing.T) {
	var ref map[string]struct {
		Points [][2]float64
		Expect json.RawMessage
	}
	loadJSON(t, "circle_edge_cases.json", &ref)
	nan := []measure.Point{{X: 1}, {Y: 1}, {X: math.NaN(), Y: 1}}
	for name, c := range map[string]struct {
		points []measure.Point
		want   error
	}{
		"two points":   {points: pointsOf(ref["two_points"].Points), want: fit.ErrTooFewPoints},
		"no points":    {want: fit.ErrTooFewPoints},
		"not a number": {points: nan, want: fit.ErrUntold},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := fit.Circle(c.points, measure.Circle{X: 3, Y: 4, R: 5})
			assert.ErrorIs(t, err, c.want)
		})
	}
	for _, name := range []string{"collinear", "coincident"} {
		_, err := fit.Circle(pointsOf(ref[name].Points), measure.Circle{X: 3, Y: 4, R: 5})
		assert.Error(t, err, name)
	}
	t.Run("arc too short", func(t *testing.T) {
		_, err := fit.Circle([]measure.Point{{X: 5}, {X: 4.98, Y: 0.447}, {X: 4.92, Y: 0.891}, {X: 4.8, Y: 1.4}}, measure.Circle{R: 5})
		var short *measure.ArcError
		require.ErrorAs(t, err, &short)
		assert.Less(t, short.Arc, 20.0)
	})
	for _, name := range []string{"three_points", "exact_circle_12", "exact_short_arc"} {
		t.Run(name, func(t *testing.T) {
			var want struct{ XC, YC, R float64 }
			require.NoError(t, json.Unmarshal(ref[name].Expect, &want))
			f, err := fit.Circle(pointsOf(ref[name].Points), off(want.XC, want.YC, want.R))
			require.NoError(t, err)
			tol := 1e-11 * want.R
			assert.InDelta(t, want.XC, f.X, tol)
			assert.InDelta(t, want.YC, f.Y, tol)
			assert.InDelta(t, want.R, f.R, tol)
			assert.InDelta(t, 0, f.RMS, tol)
			assert.InDelta(t, 0, f.Cov[2][2], tol)
		})
	}
	t.Run("four_fold", func(t *testing.T) {
		f, err := fit.Circle(pointsOf(ref["four_fold"].Points), measure.Circle{X: 0.1, Y: 0.1, R: 1})
		require.NoError(t, err)
		assert.InDelta(t, 1.5, f.R, 1e-12)
		assert.InDelta(t, 0.5, f.RMS, 1e-12) // rss 2.0 over 8 points
		assert.InDelta(t, 360, f.Arc, 1e-9)
	})
}

// TestCircleBound compares the scatter of simulated fits with the lower
// bound of Kanatani (1998), and the stated covariance with both.
func TestCircleBound(t *testing.T) {
	var ref struct {
		KCR map[string]struct {
			Across float64 `json:"sd_xc_across"`
			Along  float64 `json:"sd_yc_along"`
			R      float64 `json:"sd_r"`
		} `json:"kcr_discrete"`
	}
	loadJSON(t, "circle_theory.json", &ref)
	rng := rand.New(rand.NewPCG(11, 12))
	const n, sigma, fits = 60, 0.02, 3000
	for _, arc := range []int{60, 90, 120, 180, 270, 360} {
		t.Run(strconv.Itoa(arc), func(t *testing.T) {
			bound, ok := ref.KCR["arc"+strconv.Itoa(arc)+"_n60_sigma1"]
			require.True(t, ok)
			step := float64(arc) / (n - 1)
			if arc == 360 {
				step = 360.0 / n
			}
			var squares, stated [3]float64
			points := make([]measure.Point, n)
			for range fits {
				for i := range points {
					angle := (90 - float64(arc)/2 + float64(i)*step) * math.Pi / 180
					points[i].X = 14*math.Cos(angle) + sigma*rng.NormFloat64()
					points[i].Y = 14*math.Sin(angle) + sigma*rng.NormFloat64()
				}
				f, err := fit.Circle(points, off(0, 0, 14))
				require.NoError(t, err)
				for i, v := range []float64{f.X, f.Y, f.R - 14} {
					squares[i] += v * v / fits
					stated[i] += f.Cov[i][i] / fits
				}
			}
			for i, want := range []float64{bound.Across, bound.Along, bound.R} {
				assert.InEpsilon(t, want*sigma, math.Sqrt(squares[i]), 0.05, "scatter of parameter %d", i)
				assert.InEpsilon(t, want*sigma, math.Sqrt(stated[i]), 0.05, "stated error of parameter %d", i)
			}
		})
	}
}

func BenchmarkCircle(b *testing.B) {
	points := make([]measure.Point, 360)
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range points {
		sin, cos := math.Sincos(float64(i) * math.Pi / 360)
		points[i] = measure.Point{X: 800 + 95*cos + 0.1*rng.NormFloat64(), Y: 900 + 95*sin + 0.1*rng.NormFloat64()}
	}
	for b.Loop() {
		if _, err := fit.Circle(points, measure.Circle{X: 803, Y: 898, R: 92}); err != nil {
			b.Fatal(err)
		}
	}
}

// FuzzCircle asks for a circle or a typed error, and never for a number that
// is none.
func FuzzCircle(f *testing.F) {
	f.Add(uint64(1), 40, 300.0, 100.0, 0.0, 360.0, 0.5)
	f.Add(uint64(2), 3, 0.0, 1.0, 10.0, 15.0, 0.0)
	f.Add(uint64(3), 7, 1e9, 1e-3, 0.0, 90.0, 1e-6)
	f.Add(uint64(4), 20, -5.0, 0.0, 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, seed uint64, n int, center, r, from, to, noise float64) {
		if n < 0 || n > 200 {
			t.Skip()
		}
		rng := rand.New(rand.NewPCG(seed, 4))
		points := make([]measure.Point, n)
		for i := range points {
			sin, cos := math.Sincos((from + (to-from)*rng.Float64()) * math.Pi / 180)
			points[i] = measure.Point{X: center + r*cos + noise*rng.NormFloat64(), Y: -center + r*sin + noise*rng.NormFloat64()}
		}
		got, err := fit.Circle(points, measure.Circle{X: center, Y: -center, R: r})
		if err != nil {
			var short *measure.ArcError
			typed := errors.As(err, &short)
			for _, e := range []error{fit.ErrTooFewPoints, fit.ErrUntold} {
				typed = typed || errors.Is(err, e)
			}
			assert.True(t, typed, "%v", err)
			return
		}
		numbers := append([]float64{got.X, got.Y, got.R, got.Arc, got.RMS}, got.Residuals...)
		for i := range got.Cov {
			assert.GreaterOrEqual(t, got.Cov[i][i], 0.0)
			numbers = append(numbers, got.Cov[i][:]...)
		}
		for _, v := range numbers {
			assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%+v", got)
		}
		assert.Positive(t, got.R)
		assert.Len(t, got.Residuals, n)
	})
}
