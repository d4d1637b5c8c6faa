package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// besides are the labels of the hips before and after what is open.
func (b *bench) besides() (out [2]string) {
	b.look()
	for i, n := range []int{-1, 1} {
		if row, ok := b.Overview().Beside(n); ok {
			out[i] = row.Hip.Label()
		}
	}
	return out
}

// Reading a hip to its end moves its row in a table that is ordered by state; the hips
// beside it stay the same, until the reader sees the table again.
func TestStepsKeepTheirOrder(t *testing.T) {
	b, _ := owned(t)
	require.NoError(t, b.SetReader("R2"))
	all := append(b.folder("T1-R", "2004-03-01"), b.folder("T2-R", "2005-05-01")...)
	b.strip.Add(append(all, b.folder("T3-R", "2006-05-01")...))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	require.Equal(t, [2]string{"", "T2 right"}, b.besides())
	first := b.hip.ID
	require.NoError(t, b.Accept())
	require.Equal(t, study.HipDone, b.look()[2].State, "its row is the last one now")
	require.Equal(t, [2]string{"", "T2 right"}, b.besides())
	require.Equal(t, Around{Any: true, After: true, Waits: true}, b.Around())

	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	b.drain()
	require.Equal(t, [2]string{"T1 right", "T3 right"}, b.besides(), "films that nobody has claimed have their place, too")
	h := hip()
	h.ID, h.Patient = "", "T2"
	require.NoError(t, b.SetHip(h))
	b.drain()
	require.Equal(t, [2]string{"T1 right", "T3 right"}, b.besides(), "and the hip that they become")
	require.NoError(t, b.OpenHip(first))
	b.drain()
	b.Overview().Seen()
	require.Equal(t, [2]string{"T2 right", ""}, b.besides())
}

// Undo that goes back to another hip leaves the ways from there open.
func TestStepsAfterUndoAcrossHips(t *testing.T) {
	b, _ := owned(t)
	require.NoError(t, b.SetReader("R2"))
	b.strip.Add(append(b.folder("T1-R", "2004-03-01"), b.folder("T2-R", "2005-05-01")...))
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	b.look()
	require.NoError(t, b.Accept())
	b.look()
	require.NoError(t, b.intake.Begin(b.intake.Piles()[0]))
	b.drain()
	h := hip()
	h.ID, h.Patient = "", "T2"
	require.NoError(t, b.SetHip(h))
	b.drain()
	b.look()
	b.history.Undo()
	require.Equal(t, "T1 right", b.hip.Label())
	require.Equal(t, Around{Any: true, After: true, Waits: true}, b.Around())
	for b.overview.busy {
		b.one()
	}
	require.Equal(t, Around{Any: true, After: true, Waits: true}, b.Around())
	row, ok := b.overview.Next()
	require.True(t, ok)
	require.Equal(t, "T2 right", row.Hip.Label())
	require.Equal(t, 1, row.Unread, "the hip that was left has its films in the table")
}
