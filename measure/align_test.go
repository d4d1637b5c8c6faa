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

func TestLine(t *testing.T) {
	for _, c := range []struct {
		name  string
		p, q  measure.Point
		alpha float64
	}{
		{"level", measure.Point{X: 100, Y: 50}, measure.Point{X: 900, Y: 50}, 0},
		{"falling to image right", measure.Point{X: 100, Y: 50}, measure.Point{X: 200, Y: 150}, 45},
		{"the points swapped", measure.Point{X: 200, Y: 150}, measure.Point{X: 100, Y: 50}, 45},
		{"rising to image right", measure.Point{X: 100, Y: 50}, measure.Point{X: 200, Y: -50}, -45},
		{"upright", measure.Point{X: 100, Y: 50}, measure.Point{X: 100, Y: -50}, 90},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, err := measure.Line(c.p, c.q, 1)
			require.NoError(t, err)
			assert.InDelta(t, c.alpha, l.Alpha, 1e-12)
			assert.InDelta(t, math.Sqrt2/l.Length*180/math.Pi, l.SE, 1e-12)
		})
	}
	_, err := measure.Line(measure.Point{X: 1}, measure.Point{X: 1}, 1)
	assert.ErrorIs(t, err, measure.ErrCoincident)
	_, err = measure.Line(measure.Point{X: math.NaN()}, measure.Point{X: 1}, 1)
	assert.ErrorIs(t, err, measure.ErrNotFinite)
	_, err = measure.Line(measure.Point{}, measure.Point{X: 1}, -1)
	assert.EqualError(t, err, "measure: standard deviation of -1 px must not be negative")
}

// TestLineScatter compares the stated errors of the line and of a vector read
// with it with simulated placings of its points.
func TestLineScatter(t *testing.T) {
	rng := rand.New(rand.NewPCG(61, 62))
	p, q := measure.Point{X: 1100, Y: 900}, measure.Point{X: 1700, Y: 930}
	const n, sd = 20000, 4.0
	truth, err := measure.Line(p, q, sd)
	require.NoError(t, err)
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		want, err := measure.Read(circle(1012, 980, 100), circle(1000, 1000, 180), 28, side, truth.Alpha)
		require.NoError(t, err)
		var angle, sup, med, cross float64
		for range n {
			l, err := measure.Line(
				measure.Point{X: p.X + sd*rng.NormFloat64(), Y: p.Y + sd*rng.NormFloat64()},
				measure.Point{X: q.X + sd*rng.NormFloat64(), Y: q.Y + sd*rng.NormFloat64()}, sd)
			require.NoError(t, err)
			r, err := measure.Read(circle(1012, 980, 100), circle(1000, 1000, 180), 28, side, l.Alpha)
			require.NoError(t, err)
			d := r.Offset.Sub(want.Offset)
			angle += (l.Alpha - truth.Alpha) * (l.Alpha - truth.Alpha) / n
			sup += d.Superior * d.Superior / n
			med += d.Medial * d.Medial / n
			cross += d.Superior * d.Medial / n
		}
		assert.InEpsilon(t, truth.SE, math.Sqrt(angle), 0.02)
		turned := truth.Turn(want.Offset)
		assert.InEpsilon(t, math.Sqrt(turned.Cov[0][0]), math.Sqrt(sup), 0.02)
		assert.InEpsilon(t, math.Sqrt(turned.Cov[1][1]), math.Sqrt(med), 0.02)
		assert.InEpsilon(t, turned.Cov[0][1], cross, 0.05)
	}
}

func TestCompareRims(t *testing.T) {
	var ref struct {
		Tilt []struct {
			Degrees     float64 `json:"tilt_deg"`
			Inclination float64 `json:"radiographic_inclination"`
			Anteversion float64 `json:"radiographic_anteversion"`
		} `json:"pelvic_tilt_of_radiographic_40_15"`
	}
	loadJSON(t, "geometry_examples.json", &ref)
	require.NotEmpty(t, ref.Tilt)
	base := measure.RimReading{Radiographic: measure.Radiographic{Inclination: 40, Anteversion: 15}, SEInclination: 0.3, SEAnteversion: 0.4}
	for _, c := range ref.Tilt {
		t.Run(fmt.Sprintf("tilted by %g", c.Degrees), func(t *testing.T) {
			later := base
			later.Radiographic = measure.Radiographic{Inclination: c.Inclination, Anteversion: c.Anteversion}
			change := measure.CompareRims(base, later)
			assert.InDelta(t, c.Degrees, later.Operative().Anteversion-base.Operative().Anteversion, 1e-11)
			assert.InDelta(t, 0.4*math.Sqrt2, change.SEVersion, 1e-12)
			var warnings int
			if math.Abs(c.Inclination-40) > measure.InclinationWarning {
				warnings++
			}
			if math.Abs(c.Anteversion-15) > measure.VersionWarning {
				warnings++
			}
			assert.Len(t, change.Warnings, warnings, "%+v", change)
		})
	}
}

func ExampleLine() {
	l, err := measure.Line(measure.Point{X: 1150, Y: 1310}, measure.Point{X: 1730, Y: 1330}, 3)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("alpha %.1f degrees, standard error %.1f\n", l.Alpha, l.SE)
	// Output: alpha 2.0 degrees, standard error 0.4
}

func ExampleCompareRims() {
	base := measure.RimReading{Radiographic: measure.Radiographic{Inclination: 42, Anteversion: 15}}
	later := measure.RimReading{Radiographic: measure.Radiographic{Inclination: 43, Anteversion: 19}}
	for _, w := range measure.CompareRims(base, later).Warnings {
		fmt.Printf("%s: %+.1f degrees\n", w.Case, w.Values["Degrees"])
	}
	// Output: version: +4.0 degrees
}
