package mixed

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// Simulated studies find the difference as often as the noncentral t distribution says.
func TestTrialHasThePowerOfItsFormula(t *testing.T) {
	tr := Trial{Plan: wearfit.Plan{Times: []float64{1, 2, 5, 8}, SD: 0.1, BetweenSD: 0.03, Difference: 0.03, Level: 0.95, Power: 0.8}, Rate: 0.1, Runs: 1500, Seed: 2}
	n, err := tr.PerGroup()
	require.NoError(t, err)
	tr.Hips = [2]int{n, n}
	j, err := tr.Judge()
	require.NoError(t, err)
	assert.InDelta(t, 0.8, j.Power, 3*j.SE+0.01)
	assert.Zero(t, j.Failed)
	again, err := tr.Judge()
	require.NoError(t, err)
	assert.Equal(t, j, again)

	// No difference: the level.
	none := tr
	none.Difference = 0
	j, err = none.Judge()
	require.NoError(t, err)
	assert.InDelta(t, 0.05, j.Power, 0.02)
}

// Hips that are lost cost power, and the size makes up for them.
func TestTrialSize(t *testing.T) {
	tr := Trial{Plan: wearfit.Plan{Times: []float64{1, 2, 5, 8}, SD: 0.1, BetweenSD: 0.03, Difference: 0.05, Level: 0.95, Power: 0.8}, Rate: 0.05, Runs: 400, Seed: 3}
	plain, err := tr.Size(1)
	require.NoError(t, err)
	tr.Lost = 0.08
	lost, err := tr.Size(1)
	require.NoError(t, err)
	assert.Greater(t, lost.Hips[0], plain.Hips[0])
	assert.GreaterOrEqual(t, lost.Power, 0.8)
	uneven, err := tr.Size(3)
	require.NoError(t, err)
	assert.Less(t, uneven.Hips[0], lost.Hips[0])
	assert.Equal(t, 3*uneven.Hips[0], uneven.Hips[1])
}

func TestTrialFaults(t *testing.T) {
	good := Trial{Plan: wearfit.Plan{Times: []float64{1, 2}, SD: 0.1, Difference: 0.1, Level: 0.95, Power: 0.8}, Hips: [2]int{5, 5}, Runs: 2}
	_, err := good.Judge()
	require.NoError(t, err)
	for name, spoil := range map[string]func(*Trial){
		"a group of one": func(tr *Trial) { tr.Hips[1] = 1 },
		"no run":         func(tr *Trial) { tr.Runs = 0 },
		"all lost":       func(tr *Trial) { tr.Lost = 1 },
		"no error":       func(tr *Trial) { tr.SD = 0 },
		"one film":       func(tr *Trial) { tr.Times = tr.Times[:1] },
		"no level":       func(tr *Trial) { tr.Level = 1 },
	} {
		bad := good
		spoil(&bad)
		_, err := bad.Judge()
		require.ErrorIs(t, err, wearfit.ErrDesign, name)
	}
	_, err = good.Size(0)
	require.ErrorIs(t, err, wearfit.ErrDesign)
}
