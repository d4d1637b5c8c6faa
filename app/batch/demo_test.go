package batch

import (
	"context"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestDemoPlan checks that the hips of the demo are possible and told apart,
// without rendering them; the command demo is tested on the films.
func TestDemoPlan(t *testing.T) {
	names, patients := map[string]bool{}, map[string]bool{}
	for k, d := range demoHips() {
		h := d.start()
		require.NoError(t, h.Hip.Validate(d.date(len(d.years)-1)))
		made := h.Hip.Implant
		require.Equal(t, strings.Contains(d.liner, "ceramic"), made.HeadMaterial == "alumina", "the study says what the table of hips does")
		require.Equal(t, strings.Contains(d.liner, "cemented"), made.Fixation == "cemented")
		require.NotContains(t, []any{made.HeadMaterial, made.ShellMM, made.PE, made.LinerMM}, "", d.patient)
		require.Equal(t, d.hip.ShellMM, made.ShellMM)
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
