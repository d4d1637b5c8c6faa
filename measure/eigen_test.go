package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Eigenvalues and vectors of symmetric matrices, of any size and nearly singular ones among
// them, by gonum v0.17 mat.EigenSym (LAPACK dsyev).
func TestEigen3(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		var a [3][3]float64
		size := math.Pow(10, 6*r.Float64()-3)
		for i := range a {
			for j := range i + 1 {
				a[i][j] = size * r.NormFloat64() * math.Pow(10, -4*r.Float64())
				a[j][i] = a[i][j]
			}
		}
		m := mat.NewSymDense(3, []float64{a[0][0], a[0][1], a[0][2], a[0][1], a[1][1], a[1][2], a[0][2], a[1][2], a[2][2]})
		var want mat.EigenSym
		require.True(t, want.Factorize(m, false))
		values, v := eigen3(a)
		most := max(math.Abs(values[0]), math.Abs(values[2]))
		for k, l := range want.Values(nil) {
			require.InDelta(t, l, values[k], 1e-14*most)
			for i := range a {
				left := -values[k] * v[i][k]
				for j := range a {
					left += a[i][j] * v[j][k]
				}
				require.InDelta(t, 0, left, 1e-14*most, "A v less lambda v")
			}
			for j := range k + 1 {
				dot := v[0][k]*v[0][j] + v[1][k]*v[1][j] + v[2][k]*v[2][j]
				require.InDelta(t, map[bool]float64{true: 1}[j == k], dot, 1e-14, "of length 1, and upright on each other")
			}
		}
	}
}

func TestEigen3OfADiagonal(t *testing.T) {
	values, v := eigen3([3][3]float64{{3, 0, 0}, {0, 1, 0}, {0, 0, 2}})
	require.Equal(t, [3]float64{1, 2, 3}, values)
	require.Equal(t, [3][3]float64{{0, 0, 1}, {1, 0, 0}, {0, 1, 0}}, v)
	values, _ = eigen3([3][3]float64{})
	require.Equal(t, [3]float64{}, values)
}
