package batch

import (
	"context"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParallel(t *testing.T) {
	t.Run("all of it once, told in order", func(t *testing.T) {
		var seen [37]atomic.Int32
		var told []int
		err := parallel(t.Context(), len(seen), func(done, total int) {
			require.Equal(t, len(seen), total)
			told = append(told, done)
		}, func(i int) { seen[i].Add(1) })
		require.NoError(t, err)
		for i := range seen {
			require.Equal(t, int32(1), seen[i].Load(), i)
			require.Equal(t, i+1, told[i])
		}
	})
	t.Run("stops", func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		var n atomic.Int32
		err := parallel(ctx, 1000, nil, func(int) {
			if n.Add(1) == 3 {
				cancel()
			}
		})
		require.ErrorIs(t, err, context.Canceled)
		require.Less(t, n.Load(), int32(100))
	})
	t.Run("nothing", func(t *testing.T) {
		require.NoError(t, parallel(t.Context(), 0, nil, func(int) { t.Error("no work") }))
	})
}
