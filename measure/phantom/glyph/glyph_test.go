package glyph

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryShapeFitsItsBox(t *testing.T) {
	for r := range shapes {
		strokes := Text(string(r))
		require.NotEmpty(t, strokes, "%c", r)
		for _, s := range strokes {
			for _, x := range []float64{s.X0, s.X1} {
				assert.True(t, x >= 0 && x <= 0.6, "%c: x %g", r, x)
			}
			for _, y := range []float64{s.Y0, s.Y1} {
				assert.True(t, y >= 0 && y <= 1, "%c: y %g", r, y)
			}
		}
	}
}

func TestText(t *testing.T) {
	assert.Equal(t, []Segment{{0, 0, 0, 1}, {0, 1, 0.6, 1}}, Text("l"))
	spaced := Text("?I")
	require.Len(t, spaced, 1, "a character without a shape is a space")
	assert.InDelta(t, 0.3+Advance, spaced[0].X0, 1e-12)
	assert.Empty(t, Text(""))
}

func TestDistance(t *testing.T) {
	l := Text("L")
	assert.InDelta(t, 0.2, Distance(l, 0.2, 0.5), 1e-12)
	assert.InDelta(t, math.Hypot(0.1, 0.2), Distance(l, 0.7, 1.2), 1e-12)
	assert.True(t, math.IsInf(Distance(nil, 0, 0), 1))
}

func ExampleText() {
	fmt.Println(Text("L"), Distance(Text("L"), 0.1, 0.5))
	// Output: [{0 0 0 1} {0 1 0.6 1}] 0.1
}
