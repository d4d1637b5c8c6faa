package dicomio

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// dicom3tools finds no fault in a film that is written, whatever its view.
func TestWrittenFilmsAreValid(t *testing.T) {
	for _, view := range []string{"", "AP", "PA", "LL", "RL", "RLO", "LATERAL"} {
		f := noise(8, 8, 12)
		f.View, f.Orientation = view, [2]string{"L", "F"}
		path := filepath.Join(t.TempDir(), "a.dcm")
		require.NoError(t, WriteFile(path, f))
		for line := range strings.Lines(tool(t, "dciodvfy", path)) {
			require.False(t, strings.HasPrefix(line, "Error"), "view %q: %s", view, line)
		}
	}
}
