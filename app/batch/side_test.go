package batch

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

func TestTagTellsTheSideThatTheFilmDoesNot(t *testing.T) {
	unproven := []measure.Warning{{Code: measure.SideUnproven, Text: "side unproven"}}
	for _, c := range []struct {
		name string
		hips []measure.Hip
		tag  measure.Side
		want measure.Side
		told int // warnings left
	}{
		{"unproven, tagged", []measure.Hip{{Side: measure.Left, Warnings: unproven}}, measure.Right, measure.Right, 0},
		{"unproven, no tag", []measure.Hip{{Side: measure.Left, Warnings: unproven}}, measure.SideUnknown, measure.Left, 1},
		{"proven against the tag", []measure.Hip{{Side: measure.Left}}, measure.Right, measure.Left, 0},
		{"two hips", []measure.Hip{{Side: measure.Right, Warnings: unproven}, {Side: measure.Left}}, measure.Left, measure.Right, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := byTag(c.hips, c.tag)
			require.Len(t, got, len(c.hips))
			require.Equal(t, c.want, got[0].Side)
			require.Len(t, got[0].Warnings, c.told)
		})
	}
	require.Len(t, unproven, 1, "the caller's warnings are left as they were")
}
