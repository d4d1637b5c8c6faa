package wearfit_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/wearfit"
)

// The expected ends are those of R 4.2, binom.test(k, n)$conf.int.
func TestProportion(t *testing.T) {
	for _, c := range []struct {
		k, n   int
		lo, hi float64
	}{
		{0, 5, 0, 0.521823750105},
		{7, 20, 0.153909204785, 0.592188534533},
		{20, 20, 0.831566529017, 1},
		{153, 2000, 0.0652286499567, 0.0890306483465},
	} {
		i := wearfit.Proportion(c.k, c.n, 0.95)
		require.InDelta(t, c.lo, i.Lo, 1e-8)
		require.InDelta(t, c.hi, i.Hi, 1e-8)
	}
	require.Equal(t, wearfit.Interval{Lo: 0, Hi: 1}, wearfit.Proportion(0, 0, 0.95))
}
