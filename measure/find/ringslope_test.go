package find

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The derivatives of the pictures are those of central differences.
func TestRingSlopes(t *testing.T) {
	const size = 160
	gain := [2]float64{1.3, 0.8}
	at := ringTheta{80.3, 79.1, 60.2, 12.3, 0.7, 1.3}
	drawn := func(theta ringTheta) ringPicture {
		p := ringPicture{w: size, h: size, depth: make([]uint8, size*size)}
		p.draw(theta)
		return p
	}
	p := drawn(at)
	p.slopes(at, gain)
	for k, name := range []string{"x", "y", "long half-axis", "short half-axis", "angle", "blur"} {
		const d = 1e-6 // so small that no spot changes its cell
		up, down := at, at
		up[k], down[k] = up[k]+d, down[k]-d
		more, less := drawn(up), drawn(down)
		var worst, most float64
		for i := range p.a {
			if p.a[i] == 0 {
				continue
			}
			want := (gain[0]*(more.a[i]-less.a[i]) + gain[1]*(more.b[i]-less.b[i])) / (2 * d)
			worst, most = max(worst, math.Abs(p.slope[p.first[i/size]+i%size][k]-want)), max(most, math.Abs(want))
		}
		assert.Less(t, worst, 1e-6*most, name)
	}
}
