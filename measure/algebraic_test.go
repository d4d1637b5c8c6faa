package measure_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

var algebraicMethods = map[string]measure.AlgebraicMethod{
	"kasa": measure.Kasa, "pratt": measure.Pratt, "taubin": measure.Taubin, "hyper": measure.Hyper,
}

type planeCircle struct{ XC, YC, R float64 }

func assertCircle(t *testing.T, want planeCircle, got measure.Circle, tol float64) {
	t.Helper()
	assert.InDelta(t, want.XC, got.X, tol)
	assert.InDelta(t, want.YC, got.Y, tol)
	assert.InDelta(t, want.R, got.R, tol)
}

// The references solve each method's generalised eigenproblem with scipy 1.10.1.
func TestFitCircleAlgebraic(t *testing.T) {
	var ggs struct {
		Points   [][2]float64
		Computed map[string]planeCircle
	}
	loadJSON(t, "ggs_circle.json", &ggs)
	for name, m := range algebraicMethods {
		t.Run("ggs "+name, func(t *testing.T) {
			f, err := measure.FitCircleAlgebraic(pointsOf(ggs.Points), nil, m)
			require.NoError(t, err)
			assertCircle(t, ggs.Computed[name], f.Circle, 1e-9*f.R)
		})
	}
	var arcs struct {
		Sets map[string]map[string]json.RawMessage
	}
	loadJSON(t, "arc_fits.json", &arcs)
	points := pointSets(t, "arc_points.csv")
	for set, fits := range arcs.Sets {
		for name, m := range algebraicMethods {
			raw, ok := fits[name]
			if !ok {
				assert.Equal(t, "offset1e6", set)
				continue
			}
			t.Run(set+" "+name, func(t *testing.T) {
				var want planeCircle
				require.NoError(t, json.Unmarshal(raw, &want))
				f, err := measure.FitCircleAlgebraic(points[set], nil, m)
				require.NoError(t, err)
				assertCircle(t, want, f.Circle, 1e-9*f.R)
			})
		}
	}
	for name, m := range algebraicMethods {
		t.Run("moved far away "+name, func(t *testing.T) {
			near, err := measure.FitCircleAlgebraic(points["arc120_s005_n60"], nil, m)
			require.NoError(t, err)
			far, err := measure.FitCircleAlgebraic(points["offset1e6"], nil, m)
			require.NoError(t, err)
			assertCircle(t, planeCircle{near.X + 1e6, near.Y - 2e6, near.R}, far.Circle, 1e-7)
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

func TestFitCircleAlgebraicExactAndDegenerate(t *testing.T) {
	var ref map[string]struct {
		Points [][2]float64
		Expect json.RawMessage
	}
	loadJSON(t, "circle_edge_cases.json", &ref)
	for name, m := range algebraicMethods {
		for _, set := range []string{"three_points", "exact_circle_12", "exact_short_arc"} {
			t.Run(name+" "+set, func(t *testing.T) {
				var want planeCircle
				require.NoError(t, json.Unmarshal(ref[set].Expect, &want))
				f, err := measure.FitCircleAlgebraic(pointsOf(ref[set].Points), nil, m)
				require.NoError(t, err)
				assertCircle(t, want, f.Circle, 1e-11*want.R)
			})
		}
		for set, want := range map[string]error{
			"collinear": measure.ErrCollinear, "coincident": measure.ErrCoincident, "two_points": measure.ErrTooFewPoints,
		} {
			_, err := measure.FitCircleAlgebraic(pointsOf(ref[set].Points), nil, m)
			assert.ErrorIs(t, err, want, name+" "+set)
		}
		bent := pointsOf(ref["collinear"].Points)
		bent[1].Y += 1e-3
		_, err := measure.FitCircleAlgebraic(bent, nil, m)
		var short *measure.ArcError
		assert.ErrorAs(t, err, &short, name)
	}
	// Kasa's radius is the root mean square distance, the others' of the same
	// centre are near the mean of 1 and 2.
	f, err := measure.FitCircleAlgebraic(pointsOf(ref["four_fold"].Points), nil, measure.Kasa)
	require.NoError(t, err)
	assert.InDelta(t, math.Sqrt(2.5), f.R, 1e-12)
	_, err = measure.FitCircleAlgebraic(f.Points, nil, 9)
	assert.EqualError(t, err, "measure: algebraic method of 9 is not known")
	// A weight of two is the point given twice.
	once := f.Points[:6]
	twice := append(append([]measure.Point{}, once...), once[3])
	for name, m := range algebraicMethods {
		a, err := measure.FitCircleAlgebraic(once, []float64{1, 1, 1, 2, 1, 1}, m)
		require.NoError(t, err)
		b, err := measure.FitCircleAlgebraic(twice, nil, m)
		require.NoError(t, err)
		assertCircle(t, planeCircle{b.X, b.Y, b.R}, a.Circle, 1e-11)
		assert.True(t, strings.EqualFold(name, m.String()) || m == measure.Hyper)
	}
}

// TestAlgebraicBias compares the mean radius of simulated fits of a whole circle
// with the leading bias of Al-Sharadqah & Chernov (2009).
func TestAlgebraicBias(t *testing.T) {
	var ref struct {
		Bias map[string]any `json:"essential_bias_radius"`
	}
	loadJSON(t, "circle_theory.json", &ref)
	const n, sigma, radius, fits = 100, 0.7, 14, 20000
	sum := map[string]float64{}
	rng := rand.New(rand.NewPCG(21, 22))
	points := make([]measure.Point, n)
	for range fits {
		for i := range points {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / n)
			points[i] = measure.Point{X: radius*cos + sigma*rng.NormFloat64(), Y: radius*sin + sigma*rng.NormFloat64()}
		}
		for _, name := range []string{"pratt", "taubin", "hyper"} {
			f, err := measure.FitCircleAlgebraic(points, nil, algebraicMethods[name])
			require.NoError(t, err)
			sum[name] += (f.R - radius) / fits
		}
	}
	// The mean scatters by sigma/sqrt(n fits) = 0.0005; terms of the next order
	// in sigma and 1/n are below 0.002 here.
	for name, got := range sum {
		want, ok := ref.Bias[name].(float64)
		require.True(t, ok)
		assert.InDelta(t, want, got, 0.0035, name)
		t.Logf("%s: %.4f, leading term %.4f", name, got, want)
	}
}

func ExampleFitCircleAlgebraic() {
	points := []measure.Point{{X: 1, Y: 7}, {X: 2, Y: 6}, {X: 5, Y: 8}, {X: 7, Y: 7}, {X: 9, Y: 5}, {X: 3, Y: 7}}
	for _, m := range []measure.AlgebraicMethod{measure.Kasa, measure.Pratt, measure.Taubin, measure.Hyper} {
		f, err := measure.FitCircleAlgebraic(points, nil, m)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%v: radius %.3f\n", m, f.R)
	}
	// Output:
	// Kasa: radius 4.109
	// Pratt: radius 4.911
	// Taubin: radius 4.879
	// hyper-accurate: radius 4.828
}
