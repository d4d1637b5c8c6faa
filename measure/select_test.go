package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A shell shows on an arc; strays across from it, which are all inside the same
// way, pull at the fit with a long lever.
func TestFitShellStraysAcross(t *testing.T) {
	truth := Circle{200, 200, 168}
	for _, off := range []Circle{{0, 0, 0}, {1, -1, -1}, {1.7, -2.3, -2.5}, {-1, -1.5, 1}} {
		rng := rand.New(rand.NewPCG(3, 7))
		var edges []Edge
		add := func(angle, out float64, reject string) {
			sin, cos := math.Sincos(angle * math.Pi / 180)
			r := truth.R + out + 0.2*rng.NormFloat64()
			edges = append(edges, Edge{Point: Point{truth.X + r*cos, truth.Y + r*sin}, Angle: angle, Reject: reject})
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
		start := Circle{truth.X + off.X, truth.Y + off.Y, truth.R + off.R}
		fit, err := fitShell(edges, start)
		require.NoError(t, err)
		assert.Less(t, math.Hypot(fit.X-truth.X, fit.Y-truth.Y), 0.1, "from %v", off)
		assert.InDelta(t, truth.R, fit.R, 0.1, "from %v", off)
	}
}
