package measure_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// TestOrientationTable checks the conversions against angles computed from the
// axis vector and printed to six decimals.
func TestOrientationTable(t *testing.T) {
	rows := loadCSV(t, "orientation.csv")
	require.Len(t, rows, 56)
	for _, row := range rows {
		r := measure.Radiographic{Inclination: row["radiographic_inclination"], Anteversion: row["radiographic_anteversion"]}
		o, a := r.Operative(), r.Anatomical()
		assert.InDelta(t, row["operative_inclination"], o.Inclination, 6e-7)
		assert.InDelta(t, row["operative_anteversion"], o.Anteversion, 6e-7)
		assert.InDelta(t, row["anatomical_inclination"], a.Inclination, 6e-7)
		assert.InDelta(t, row["anatomical_anteversion"], a.Anteversion, 6e-7)
	}
}

// TestOrientationFormulas checks the conversions of Murray (1993) against the closed
// formulas.
func TestOrientationFormulas(t *testing.T) {
	sin := func(d float64) float64 { return math.Sin(d * math.Pi / 180) }
	cos := func(d float64) float64 { return math.Cos(d * math.Pi / 180) }
	tan := func(d float64) float64 { return math.Tan(d * math.Pi / 180) }
	const tol = 1e-12
	for ri := 20.0; ri <= 70; ri += 5 {
		for rv := -30.0; rv <= 40; rv += 5 {
			r := measure.Radiographic{Inclination: ri, Anteversion: rv}
			o, a := r.Operative(), r.Anatomical()
			assert.InDelta(t, cos(rv)*sin(ri), sin(o.Inclination), tol)
			assert.InDelta(t, tan(rv)/cos(ri), tan(o.Anteversion), tol)
			assert.InDelta(t, cos(ri)*cos(rv), cos(a.Inclination), tol)
			assert.InDelta(t, tan(rv)/sin(ri), tan(a.Anteversion), tol)
			assert.LessOrEqual(t, o.Inclination, ri+tol)
			assert.LessOrEqual(t, ri, a.Inclination+tol)
			assert.LessOrEqual(t, math.Abs(rv), math.Abs(o.Anteversion)+tol)
		}
	}
}

func TestReadRim(t *testing.T) {
	var ref struct {
		Rim struct {
			Inclination float64 `json:"radiographic_inclination"`
			Anteversion float64 `json:"radiographic_anteversion"`
			A           float64 `json:"major_semi_axis"`
			B           float64 `json:"minor_semi_axis"`
		} `json:"rim_ellipse_parallel_beam"`
		Sensitivity []struct {
			Anteversion float64 `json:"anteversion_deg"`
			Ratio       float64 `json:"minor_over_major"`
			PerTenth    float64 `json:"d_version_deg_per_0.1mm_minor_error_at_major_26"`
		} `json:"version_sensitivity"`
	}
	loadJSON(t, "geometry_examples.json", &ref)
	for _, c := range []struct {
		name         string
		side         measure.Side
		angle, alpha float64
	}{
		// On a right hip the rim falls towards medial, which is image right.
		{"right", measure.Right, 42, 0},
		{"left", measure.Left, -42, 0},
		{"left, half a turn on", measure.Left, 138, 0},
		{"right, turned film", measure.Right, 49, 7},
		{"left, turned film", measure.Left, 131, -7},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := measure.EllipseFit{Ellipse: measure.Ellipse{A: ref.Rim.A, B: ref.Rim.B, Angle: c.angle}}
			r, err := measure.ReadRim(e, c.side, c.alpha)
			require.NoError(t, err)
			assert.InDelta(t, ref.Rim.Inclination, r.Inclination, 1e-12)
			assert.InDelta(t, ref.Rim.Anteversion, r.Anteversion, 1e-12)
		})
	}
	for _, s := range ref.Sensitivity {
		e := measure.EllipseFit{Ellipse: measure.Ellipse{A: 26, B: 26 * s.Ratio, Angle: 40}}
		e.Cov[3][3] = 0.01 // 0.1 mm
		r, err := measure.ReadRim(e, measure.Right, 0)
		require.NoError(t, err)
		assert.InDelta(t, s.Anteversion, r.Anteversion, 1e-12)
		assert.InEpsilon(t, s.PerTenth, r.SEAnteversion, 2e-3, "first order against the difference")
	}
	for _, c := range []struct {
		name string
		fit  measure.Ellipse
		side measure.Side
		want string
	}{
		{"no side", measure.Ellipse{A: 2, B: 1}, measure.SideUnknown, "measure: shape.no-side"},
		{"axes swapped", measure.Ellipse{A: 1, B: 2}, measure.Left, "measure: short semi-axis of 2 px must lie between 0 and the long one"},
		{"not a number", measure.Ellipse{A: math.NaN(), B: 2}, measure.Left, "measure: shape.not-finite"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := measure.ReadRim(measure.EllipseFit{Ellipse: c.fit}, c.side, 0)
			assert.EqualError(t, err, c.want)
		})
	}
}

func TestRimAngle(t *testing.T) {
	rim := measure.RimReading{Radiographic: measure.Radiographic{Inclination: 40}}
	s, c := math.Sincos(40 * math.Pi / 180)
	for _, q := range []struct {
		name             string
		superior, medial float64
		want             float64
	}{
		{"along the axis", c, s, 90},
		{"along the rim, laterally", s, -c, 0},
		{"straight up", 1, 0, 50},
		{"out of the cup", -c, -s, -90},
	} {
		t.Run(q.name, func(t *testing.T) {
			angle, _, err := rim.RimAngle(measure.Vector{Superior: q.superior, Medial: q.medial})
			require.NoError(t, err)
			assert.InDelta(t, q.want, angle, 1e-12)
		})
	}
	turned := rim
	turned.Anteversion = 20
	angle, se, err := turned.RimAngle(measure.Vector{Superior: c, Medial: s})
	require.NoError(t, err)
	assert.InDelta(t, 70, angle, 1e-12, "an axis that leaves the film's plane by 20 degrees")
	assert.Zero(t, se)
	_, _, err = rim.RimAngle(measure.Vector{Superior: math.Inf(1)})
	assert.ErrorIs(t, err, measure.ErrNotFinite)
	_, _, err = rim.RimAngle(measure.Vector{})
	assert.ErrorIs(t, err, measure.ErrNoDirection)
}

func ExampleRadiographic_Operative() {
	r := measure.Radiographic{Inclination: 40, Anteversion: 15}
	o, a := r.Operative(), r.Anatomical()
	fmt.Printf("operative %.3f, %.3f; anatomical %.3f, %.3f\n", o.Inclination, o.Anteversion, a.Inclination, a.Anteversion)
	// Output: operative 38.381, 19.279; anatomical 42.274, 22.629
}

func ExampleReadRim() {
	rim := measure.EllipseFit{Ellipse: measure.Ellipse{X: 900, Y: 800, A: 170, B: 44, Angle: 42}}
	r, err := measure.ReadRim(rim, measure.Right, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("inclination %.0f, version %.0f degrees, forwards or backwards\n", r.Inclination, r.Anteversion)
	// Output: inclination 42, version 15 degrees, forwards or backwards
}
