package measure_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

func TestWearVolumeClearance(t *testing.T) {
	var ref struct {
		Clearance []struct {
			Head  float64 `json:"head_r"`
			Liner float64 `json:"liner_r"`
			D     float64 `json:"d_from_contact"`
			Angle float64 `json:"beta_deg"`
			V     float64 `json:"volume_mm3"`
		}
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
	require.Len(t, ref.Clearance, 27)
	for _, c := range ref.Clearance {
		v, err := measure.WearVolumeClearance(2*c.Head, 2*c.Liner, c.D, c.Angle)
		require.NoError(t, err)
		assert.InEpsilon(t, c.V, v, 1e-6, "liner %g, %g mm at %g", c.Liner, c.D, c.Angle)
	}
	require.NotEmpty(t, ref.Worked)
	for _, c := range ref.Worked {
		v, err := measure.WearVolume(2*c.R, c.D, c.Angle)
		require.NoError(t, err)
		assert.InEpsilon(t, c.V, v, 1e-10)
	}
	require.NotEmpty(t, ref.Sobol)
	for _, c := range ref.Sobol { // points thrown at the liner
		v, err := measure.WearVolume(2*c.R, c.D, c.Angle)
		require.NoError(t, err)
		assert.InEpsilon(t, c.V, v, 1e-3)
	}
	// Two routes to one answer where there is no clearance.
	for _, d := range []float64{0, 0.05, 0.7, 4, 12} {
		for angle := 0.0; angle <= 90; angle += 7.5 {
			a, err := measure.WearVolume(28, d, angle)
			require.NoError(t, err)
			b, err := measure.WearVolumeClearance(28, 28, d, angle)
			require.NoError(t, err)
			assert.InDelta(t, a, b, 1e-7*a, "%g mm at %g", d, angle)
		}
	}
	_, err := measure.WearVolumeClearance(28, 27, 1, 45)
	assert.EqualError(t, err, "measure: liner diameter of 27 mm must not be less than the head's")
	_, err = measure.WearVolumeClearance(28, 28, -1, 45)
	assert.EqualError(t, err, "measure: penetration of -1 mm must not be negative")
}

func ExampleWearVolumeClearance() {
	v, err := measure.WearVolumeClearance(28, 28.2, 1, 30)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f mm³\n", v)
	// Output: 437.7 mm³
}
