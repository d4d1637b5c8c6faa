package jpeg2000

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestRowsOfStripes compares what is told of four rows at once with each row's own
// neighbourhood, for every pattern of significance.
func TestRowsOfStripes(t *testing.T) {
	for f := range uint32(1 << 18) {
		var want, own uint32
		for i := range stripeRows {
			around := f >> (3 * i) & 0x1FF
			if around&(1<<4) != 0 {
				own |= 1 << i
			} else if around&neighbours != 0 {
				want |= 1 << (3 * i)
			}
		}
		if want != beside(f|0xFFFC0000) || own != rowsOwn(f|0xFFFC0000) {
			require.Equal(t, want, beside(f), "%b", f)
			require.Equal(t, own, rowsOwn(f), "%b", f)
		}
	}
}
