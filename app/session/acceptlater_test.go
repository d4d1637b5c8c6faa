package session

import (
	"database/sql"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	_ "modernc.org/sqlite" // another program's way to the study

	"linerwatch/app/study"
)

// lockedStudy has another connection write to a study until free is called.
func lockedStudy(t *testing.T, path string) (free func()) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	t.Cleanup(func() { _ = db.Close() })
	c, err := db.Conn(t.Context())
	require.NoError(t, err)
	_, err = c.ExecContext(t.Context(), "BEGIN IMMEDIATE")
	require.NoError(t, err)
	return func() {
		_, err := c.ExecContext(t.Context(), "ROLLBACK")
		require.NoError(t, err)
		require.NoError(t, c.Close())
	}
}

// An acceptance while another program writes neither keeps the window waiting nor is told
// as saved: it is accepted once it is saved.
func TestAcceptWaitsForAnotherProgram(t *testing.T) {
	b, path := filed(t)
	f := b.strip.Selected()
	b.Edits().Nudge(1, 0)
	b.waitSaved()
	free := lockedStudy(t, path)
	was := len(f.Readings)
	b.Say("")
	began := time.Now()
	err := b.Accept()
	require.Less(t, time.Since(began), 2*time.Second, "five are waited for otherwise")
	require.ErrorIs(t, err, study.ErrBusy)
	require.Contains(t, study.Told(err), "it is tried again by itself until it is saved")
	b.one() // tried again, in vain
	require.Len(t, f.Readings, was)
	require.True(t, f.changed)
	require.NotContains(t, b.Notice(), "Accepted and saved")
	free()
	for len(f.Readings) == was {
		b.one()
	}
	require.Contains(t, b.Notice(), "Accepted and saved")
	require.False(t, f.changed)
	r, err := b.book.store.Record(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Equal(t, f.Readings[was].ID, r.Readings[len(r.Readings)-1].ID)
}

// Outlines that are changed meanwhile are not accepted without the reader.
func TestAcceptThatWaitsIsOfItsOutlines(t *testing.T) {
	b, path := filed(t)
	f := b.strip.Selected()
	b.Edits().Nudge(1, 0)
	b.waitSaved()
	free := lockedStudy(t, path)
	was := len(f.Readings)
	require.ErrorIs(t, b.Accept(), study.ErrBusy)
	b.Edits().Nudge(1, 0)
	free()
	for end := time.Now().Add(2 * acceptEvery); time.Now().Before(end) && len(f.Readings) == was; {
		select {
		case do := <-b.queue:
			do()
		case <-time.After(acceptEvery):
		}
	}
	require.Len(t, f.Readings, was)
	require.Contains(t, b.Notice(), "Not accepted")
}
