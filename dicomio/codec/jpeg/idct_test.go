package jpeg

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestInverse compares with the defining sum of T.81 A.3.3 in floating point.
// IEEE 1180-1990 allows a peak error of 1 for coefficients of this kind.
func TestInverse(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, precision := range []int{8, 12} {
		peak, bias := 0.0, 0.0
		const blocks = 2000
		for range blocks {
			var b block
			for i := range b {
				reach := 1 << precision / (1 + i)
				b[i] = int32(random.IntN(2*reach+1) - reach)
			}
			want := definition(&b)
			b.inverse(precision)
			for i, v := range b {
				peak = max(peak, math.Abs(float64(v)-want[i]))
				bias += float64(v) - want[i]
			}
		}
		if bias /= blocks * blockSize; peak > 1 || math.Abs(bias) > 0.015 {
			t.Errorf("%d bits: peak error %.3f, mean error %.4f", precision, peak, bias)
		}
	}
}

func definition(b *block) (out [blockSize]float64) {
	factor := func(k int) float64 {
		if k == 0 {
			return math.Sqrt2 / 4
		}
		return 0.5
	}
	basis := func(x, u int) float64 { return factor(u) * math.Cos(float64(2*x+1)*float64(u)*math.Pi/16) }
	for y := range side {
		for x := range side {
			for v := range side {
				for u := range side {
					out[side*y+x] += float64(b[side*v+u]) * basis(x, u) * basis(y, v)
				}
			}
		}
	}
	return out
}
