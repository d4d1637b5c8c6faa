package jpeg2000

import (
	"math/bits"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestCodesOfQuads: the codes of each context are complete and none begins another;
// known upper bits are of samples of the largest exponent, and those are not zero.
// There are 444 and 358 of them.
func TestCodesOfQuads(t *testing.T) {
	for k, want := range [2]int{444, 358} {
		n := 0
		for context, codes := range htCodes[k] {
			room := 0
			for i, c := range codes {
				n++
				length, word := c>>8&15, c&0xFF
				samples, offset, largest, upper := c>>12&15, c>>16&15, c>>20&15, c>>24
				room += 1 << (7 - length)
				require.Zero(t, upper&^largest)
				require.Zero(t, largest&^samples)
				require.LessOrEqual(t, bits.Len32(word), int(length))
				if offset == 0 {
					require.Zero(t, largest)
				}
				for _, other := range codes[:i] {
					shorter := min(length, other>>8&15)
					require.NotZero(t, (word^other)&(1<<shorter-1), "table %d, context %d: %X and %X", k, context, c, other)
				}
			}
			require.Equal(t, 128, room)
		}
		require.Equal(t, want, n)
	}
}
