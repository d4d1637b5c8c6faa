package measure_test

import (
	"fmt"
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// loadCSV returns the rows of a table under testdata as numbers by column name;
// columns that are no numbers are left out.
func loadCSV(t *testing.T, name string) (rows []map[string]float64) {
	t.Helper()
	all := readAll(t, name)
	for _, row := range all[1:] {
		m := map[string]float64{}
		for i, v := range row {
			if f, err := strconv.ParseFloat(v, 64); err == nil {
				m[all[0][i]] = f
			}
		}
		rows = append(rows, m)
	}
	return rows
}

// volumeOf is the volume of a movement of d mm at an angle to the rim plane.
func volumeOf(t *testing.T, headMM, d, angle float64) float64 {
	t.Helper()
	s, c := math.Sincos(angle * math.Pi / 180)
	v, err := measure.RimReading{}.Volume(measure.Vector{Superior: d * s, Medial: d * c}, headMM)
	require.NoError(t, err)
	return v.MM3
}

// The grid was computed by two unrelated quadratures and printed to 1e-6 mm³.
func TestWearVolumeGrid(t *testing.T) {
	rows := loadCSV(t, "volume_grid.csv")
	require.Len(t, rows, 352)
	var worst float64
	for _, row := range rows {
		head, d, b := 2*row["r_mm"], row["d_mm"], row["beta_deg"]
		v := volumeOf(t, head, d, b)
		assert.InDelta(t, row["exact_mm3"], v, 6e-7+1e-11*v, "head %g, %g mm at %g", head, d, b)
		worst = max(worst, math.Abs(v/row["exact_mm3"]-1))
	}
	assert.Less(t, worst, 1e-5)
	t.Logf("largest relative deviation %.1e", worst)
}

// Worked examples in closed form, and points thrown at the liner.
func TestWearVolumeExamples(t *testing.T) {
	var ref struct {
		Worked []struct {
			R, D  float64
			Angle float64 `json:"beta_deg"`
			V     float64 `json:"exact_swept"`
		} `json:"worked_examples"`
		Sobol []struct {
			R, D  float64
			Angle float64 `json:"beta_deg"`
			V     float64 `json:"sobol_mm3"`
		} `json:"sobol_check"`
	}
	loadJSON(t, "volume_examples.json", &ref)
	require.NotEmpty(t, ref.Worked)
	for _, c := range ref.Worked {
		assert.InEpsilon(t, c.V, volumeOf(t, 2*c.R, c.D, c.Angle), 1e-10)
	}
	require.NotEmpty(t, ref.Sobol)
	for _, c := range ref.Sobol {
		assert.InEpsilon(t, c.V, volumeOf(t, 2*c.R, c.D, c.Angle), 1e-3)
	}
}

// A step of the head's centre into the dome shows the volume as the solid angle
// sees it: at 90 degrees pi r² d, at 0 half of it (Charnley et al. 1969).
func TestWearVolumeLimits(t *testing.T) {
	for _, c := range []struct {
		name    string
		d, b, v float64
	}{
		{"into the dome", 1, 90, math.Pi * 196},
		{"along the rim", 1, 0, math.Pi * 98},
		{"no movement", 0, 40, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.InDelta(t, c.v, volumeOf(t, 28, c.d, c.b), 1e-10)
		})
	}
	for _, c := range []struct {
		name       string
		head, d, b float64
		want       string
	}{
		{"no head", 0, 1, 45, "measure: head diameter of 0 mm must be positive"},
		{"not a number", 28, math.NaN(), 45, "measure: shape.not-finite"},
		{"endless", 28, math.Inf(1), 45, "measure: shape.not-finite"},
		{"out of the liner", 28, 1, -5, "measure: angle to the rim plane of -5 deg must lie in 0 to 90"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, cos := math.Sincos(c.b * math.Pi / 180)
			_, err := measure.RimReading{}.Volume(measure.Vector{Superior: c.d * s, Medial: c.d * cos}, c.head)
			assert.EqualError(t, err, c.want)
		})
	}
}

// TestRimReadingVolume compares the propagated error with differences in each
// of the four numbers that the volume comes from.
func TestRimReadingVolume(t *testing.T) {
	rim := measure.RimReading{Radiographic: measure.Radiographic{Inclination: 42, Anteversion: 14}, SEInclination: 1.5, SEAnteversion: 2}
	p := measure.Vector{Superior: 0.8, Medial: -0.3, Cov: [2][2]float64{{0.0009, 0.0002}, {0.0002, 0.0004}}}
	at := func(s, m, i, a float64) float64 {
		r, q := rim, p
		q.Superior, q.Medial, r.Inclination, r.Anteversion = q.Superior+s, q.Medial+m, r.Inclination+i, r.Anteversion+a
		v, err := r.Volume(q, 28)
		require.NoError(t, err)
		return v.MM3
	}
	const h = 1e-4
	gs, gm := (at(h, 0, 0, 0)-at(-h, 0, 0, 0))/(2*h), (at(0, h, 0, 0)-at(0, -h, 0, 0))/(2*h)
	gi, ga := (at(0, 0, h, 0)-at(0, 0, -h, 0))/(2*h), (at(0, 0, 0, h)-at(0, 0, 0, -h))/(2*h)
	v, err := rim.Volume(p, 28)
	require.NoError(t, err)
	want := gs*gs*0.0009 + 2*gs*gm*0.0002 + gm*gm*0.0004 + gi*gi*1.5*1.5 + ga*ga*2*2
	assert.InEpsilon(t, math.Sqrt(want), v.SE, 1e-6)
	angle, _, err := rim.RimAngle(p)
	require.NoError(t, err)
	assert.InDelta(t, volumeOf(t, 28, math.Hypot(0.8, 0.3), angle), v.MM3, 1e-10)

	_, err = rim.Volume(measure.Vector{Superior: -0.5, Medial: -0.5}, 28)
	var out *measure.RangeError
	require.ErrorAs(t, err, &out)
	assert.Equal(t, "angle to the rim plane", out.Quantity)

	none, err := rim.Volume(measure.Vector{Cov: p.Cov}, 28)
	require.NoError(t, err)
	assert.Zero(t, none.MM3)
	assert.Greater(t, none.SE, math.Pi*196*0.03)
}

func ExampleRimReading_Volume() {
	rim := measure.RimReading{
		Radiographic:  measure.Radiographic{Inclination: 42, Anteversion: 14},
		SEInclination: 1, SEAnteversion: 2,
	}
	p := measure.Vector{Superior: 0.8, Medial: 0.2, Cov: [2][2]float64{{0.001, 0}, {0, 0.001}}}
	v, err := rim.Volume(p, 28)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm³ (standard error %.0f)\n", v.MM3, v.SE)
	// Output: 475 mm³ (standard error 19)
}
