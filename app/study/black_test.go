package study

import (
	"image"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBlack(t *testing.T) {
	parts := []image.Rectangle{image.Rect(10, 20, 40, 60), image.Rect(0, 0, 1, 2)}
	require.Equal(t, Black("10 20 30 40; 0 0 1 2"), BlackOf(parts))
	back, err := BlackOf(parts).Parts()
	require.NoError(t, err)
	require.Equal(t, parts, back)
	require.Empty(t, BlackOf(nil))
	none, err := Black("").Parts()
	require.NoError(t, err)
	require.Empty(t, none)
	for _, bad := range []Black{"1 2 3", "1 2 3 x", "1 2 3 4 5", "1 2 0 4", "1 2 3 -4", "1 2 3 4;", "1 2 3 4; "} {
		_, err := bad.Parts()
		require.Error(t, err, "%q", bad)
	}
}
