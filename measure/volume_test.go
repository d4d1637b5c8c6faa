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

// The grid was computed by two unrelated quadratures and printed to 1e-6 mm³.
func TestWearVolumeGrid(t *testing.T) {
	rows := loadCSV(t, "volume_grid.csv")
	require.Len(t, rows, 352)
	var worst float64
	for _, row := range rows {
		head, d, b := 2*row["r_mm"], row["d_mm"], row["beta_deg"]
		v, err := measure.WearVolume(head, d, b)
		require.NoError(t, err)
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
		v, err := measure.WearVolume(2*c.R, c.D, c.Angle)
		require.NoError(t, err)
		assert.InEpsilon(t, c.V, v, 1e-10)
	}
	require.NotEmpty(t, ref.Sobol)
	for _, c := range ref.Sobol {
		v, err := measure.WearVolume(2*c.R, c.D, c.Angle)
		require.NoError(t, err)
		assert.InEpsilon(t, c.V, v, 1e-3)
	}
}

func TestWearVolumeDerivatives(t *testing.T) {
	// The stated error against differences of the volume, at a step that leaves
	// some 1e-8 of rounding and truncation.
	for _, c := range []struct{ d, b float64 }{{0.1, 5}, {0.5, 30}, {1, 45}, {2, 60}, {4, 80}, {4, 30}, {1, 89}} {
		t.Run(fmt.Sprintf("%g mm at %g", c.d, c.b), func(t *testing.T) {
			at := func(d, b float64) float64 {
				v, err := measure.WearVolume(28, d, b)
				require.NoError(t, err)
				return v
			}
			const h = 1e-4
			byD := (at(c.d+h, c.b) - at(c.d-h, c.b)) / (2 * h)
			byB := (at(c.d, c.b+h) - at(c.d, c.b-h)) / (2 * h)
			v, err := measure.WearVolumeSE(28, c.d, c.b, 0.03, 0)
			require.NoError(t, err)
			assert.InEpsilon(t, 0.03*byD, v.SE, 1e-6)
			v, err = measure.WearVolumeSE(28, c.d, c.b, 0, 2)
			require.NoError(t, err)
			assert.InDelta(t, 2*math.Abs(byB), v.SE, 1e-5*v.MM3)
		})
	}
	v, err := measure.WearVolumeSE(28, 1, 0, 0, 180/math.Pi)
	require.NoError(t, err)
	assert.InEpsilon(t, math.Pi/2*14*14+14, v.SE, 1e-12, "along the rim: pi r² d/2 + r d²")
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
			v, err := measure.WearVolume(28, c.d, c.b)
			require.NoError(t, err)
			assert.InDelta(t, c.v, v, 1e-10)
		})
	}
	for _, c := range []struct {
		name       string
		head, d, b float64
		want       string
	}{
		{"no head", 0, 1, 45, "measure: head diameter of 0 mm must be positive"},
		{"negative", 28, -1, 45, "measure: penetration of -1 mm must not be negative"},
		{"not a number", 28, math.NaN(), 45, "measure: penetration of NaN mm must not be negative"},
		{"endless", 28, math.Inf(1), 45, "measure: penetration of +Inf mm must not be negative"},
		{"out of the liner", 28, 1, -5, "measure: angle to the rim plane of -5 deg must lie in 0 to 90"},
		{"no angle", 28, 1, math.NaN(), "measure: angle to the rim plane of NaN deg must lie in 0 to 90"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := measure.WearVolume(c.head, c.d, c.b)
			assert.EqualError(t, err, c.want)
			_, err = measure.WearVolumeSE(c.head, c.d, c.b, 0, 0)
			assert.EqualError(t, err, c.want)
		})
	}
	_, err := measure.WearVolumeSE(28, 1, 45, -1, 0)
	var out *measure.RangeError
	assert.ErrorAs(t, err, &out)
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
	plain, err := measure.WearVolume(28, math.Hypot(0.8, 0.3), v.Angle)
	require.NoError(t, err)
	assert.InDelta(t, plain, v.MM3, 1e-10)

	_, err = rim.Volume(measure.Vector{Superior: -0.5, Medial: -0.5}, 28)
	var out *measure.RangeError
	require.ErrorAs(t, err, &out)
	assert.Equal(t, "angle to the rim plane", out.Quantity)

	none, err := rim.Volume(measure.Vector{Cov: p.Cov}, 28)
	require.NoError(t, err)
	assert.Zero(t, none.MM3)
	assert.Greater(t, none.SE, math.Pi*196*0.03)
}

func ExampleWearVolume() {
	v, err := measure.WearVolume(28, 1, 45)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm³\n", v)
	// Output: 532.392 mm³
}

func ExampleWearVolumeSE() {
	v, err := measure.WearVolumeSE(28, 1, 45, 0.05, 5)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm³, standard error %.0f mm³\n", v.MM3, v.SE)
	// Output: 532 mm³, standard error 33 mm³
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
	fmt.Printf("%.0f mm³ (standard error %.0f) at %.0f degrees to the rim\n", v.MM3, v.SE, v.Angle)
	// Output: 475 mm³ (standard error 19) at 59 degrees to the rim
}

func BenchmarkWearVolume(b *testing.B) {
	for b.Loop() {
		if _, err := measure.WearVolume(28, 1, 45); err != nil {
			b.Fatal(err)
		}
	}
}
