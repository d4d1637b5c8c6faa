package find

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// A shell shows on an arc; strays across from it, which are all inside the same
// way, pull at the fit with a long lever.
func TestFitShellStraysAcross(t *testing.T) {
	truth := measure.Circle{X: 200, Y: 200, R: 168}
	for _, off := range []measure.Circle{{X: 0, Y: 0, R: 0}, {X: 1, Y: -1, R: -1}, {X: 1.7, Y: -2.3, R: -2.5}, {X: -1, Y: -1.5, R: 1}} {
		rng := rand.New(rand.NewPCG(3, 7))
		var edges []measure.Edge
		add := func(angle, out float64, reject string) {
			sin, cos := math.Sincos(angle * math.Pi / 180)
			r := truth.R + out + 0.2*rng.NormFloat64()
			edges = append(edges, measure.Edge{Point: measure.Point{X: truth.X + r*cos, Y: truth.Y + r*sin}, Angle: angle, Reject: reject})
		}
		for i := range 720 {
			switch angle := float64(i) / 2; {
			case angle < 30 || angle > 210:
				add(angle, 0, "")
			case angle >= 123 && angle < 131:
				add(angle, -4, "")
			case angle < 38 || angle > 204:
				add(angle, -2, "")
			default:
				add(angle, 0, rejectNone)
			}
		}
		start := measure.Circle{X: truth.X + off.X, Y: truth.Y + off.Y, R: truth.R + off.R}
		fit, err := fitEdges(edges, start)
		require.NoError(t, err)
		assert.Less(t, math.Hypot(fit.X-truth.X, fit.Y-truth.Y), 0.1, "from %v", off)
		assert.InDelta(t, truth.R, fit.R, 0.1, "from %v", off)
	}
}
