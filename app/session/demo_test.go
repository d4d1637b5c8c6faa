package session

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// TestDemoPlan checks that the hips of the demo are possible and told apart,
// without rendering them.
func TestDemoPlan(t *testing.T) {
	names, patients := map[string]bool{}, map[string]bool{}
	for k, d := range demoHips() {
		h := d.start(k)
		require.NoError(t, h.Hip.Validate(d.date(len(d.years)-1)))
		require.False(t, names[h.Hip.ID])
		require.False(t, patients[d.patient])
		names[h.Hip.ID], patients[d.patient] = true, true
		for i := range d.years {
			s := d.scene(k, i)
			require.NoError(t, s.Validate(), h.Hip.ID)
			require.False(t, s.Window.Empty())
		}
		require.Less(t, d.moved(d.years[len(d.years)-1]), d.implant.LinerMM/2, "the liner is not worn through")
	}
}

// TestDemo measures the whole demo study; every film must be measured, and on
// the last one the head must be found where an ideal observer sees it.
func TestDemo(t *testing.T) {
	if testing.Short() {
		t.Skip("renders the whole demo study")
	}
	dir := t.TempDir()
	hips, err := Demo(t.Context(), dir, nil)
	require.NoError(t, err)
	for _, d := range hips {
		t.Run(d.Liner, func(t *testing.T) {
			require.NoError(t, d.TrendFail)
			for _, m := range d.Measured {
				require.Equal(t, study.Measured, m.Status, "%s: %s", m.Film.Name(), m.Reason)
				require.FileExists(t, m.Film.Path)
				require.True(t, filepath.IsAbs(m.Film.Path))
			}
			last := d.Trend.Penetration[len(d.Trend.Penetration)-1]
			require.InDelta(t, d.Shown, last.Superior, 0.15)
			require.NotNil(t, d.Trend.Fit)
			require.InDelta(t, d.Rate, d.Trend.Fit.Rate, 0.02)
			t.Logf("rate %.4f (%.4f to %.4f), built in %g; last film %.3f, true %.3f",
				d.Trend.Fit.Rate, d.Trend.Fit.Lo95, d.Trend.Fit.Hi95, d.Rate, last.Superior, d.Shown)
		})
	}
}

func TestDemoStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	dir := t.TempDir()
	_, err := Demo(ctx, dir, nil)
	require.ErrorIs(t, err, context.Canceled)
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left)
}
