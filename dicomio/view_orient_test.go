package dicomio

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// Directions that mean nothing or run aslant leave it unknown how a film lies (PS3.3
// C.7.6.1.1.1); a lateral film is read by axes of its own.
func TestOrientationsThatKeepAFilmOut(t *testing.T) {
	for said, c := range map[[2]string]struct{ view, why string }{
		{"L", "F"}:   {"AP", ""},
		{"R", "H"}:   {"AP", ""},
		{"F", "R"}:   {"AP", ""},
		{"", ""}:     {"AP", ""},
		{"L", ""}:    {"AP", ""},
		{"L", "R"}:   {"AP", "view.no-plane"},
		{"H", "F"}:   {"AP", "view.no-plane"},
		{"X", "L"}:   {"", ""},
		{"LF", "FR"}: {"AP", "view.aslant"},
		{"L", "FR"}:  {"AP", "view.aslant"},
		{"AH", "HP"}: {"LATERAL", ""},
		{"A", "F"}:   {"AP", "view.contradicts"},
	} {
		f := &Film{View: c.view, Orientation: said}
		if f.plane() == Sideways {
			f.Views = []Viewed{{By: "Patient Orientation (0020,0020)", Said: said[0] + `\` + said[1], Way: Sideways}}
		}
		_, why := f.Projection()
		f.Pixels = gray16(1, 1, []uint16{1})
		_, upright := f.Upright().Projection()
		require.Equal(t, why == nil, upright == nil, "%s: told of the upright film as well", said)
		if c.why == "" {
			require.Nil(t, why, said)
			continue
		}
		require.NotNil(t, why, said)
		require.Equal(t, c.why, why.Code, said)
	}
}
