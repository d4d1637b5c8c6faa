package store

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// away opens a study with a reading, takes its folder away while it is read, and returns
// what brings it back.
func away(t *testing.T) (db *DB, h study.Hip, f study.Film, back func()) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "in")
	require.NoError(t, os.Mkdir(dir, 0o700))
	db, h, f = seeded(t, filepath.Join(dir, "s.study"))
	require.NoError(t, db.AddReading(t.Context(), storetest.Reading("before", h, f)))
	require.NoError(t, db.Check(t.Context()))
	require.NoError(t, os.Rename(dir, dir+" away"))
	require.ErrorIs(t, db.Check(t.Context()), study.ErrMoved)
	list, err := db.Hips(t.Context())
	require.NoError(t, err)
	require.Len(t, list, 1, "it is read all the same")
	require.True(t, db.left.Load())
	return db, h, f, func() { require.NoError(t, os.Rename(dir+" away", dir)) }
}

func readingsIn(t *testing.T, path string, h study.Hip) int {
	t.Helper()
	db := openAt(t, path)
	defer closed(t, db)
	list, err := db.Readings(t.Context(), h.ID)
	require.NoError(t, err)
	return len(list)
}

func TestTheSameFileComesBack(t *testing.T) {
	for round := range 2 {
		db, h, f, back := away(t)
		refuge := db.refuge
		back()
		if round == 0 {
			require.NoError(t, db.Check(t.Context()))
		}
		other := openAt(t, db.path)
		require.NoError(t, other.Check(t.Context()), "while it reads, what is written stays in the log")
		require.NoError(t, other.AddReading(t.Context(), storetest.Reading("theirs", h, f)))
		require.NoError(t, db.AddReading(t.Context(), storetest.Reading("after", h, f)))
		list, err := other.Readings(t.Context(), h.ID)
		require.NoError(t, err)
		require.Len(t, list, 3, "both write to one file")
		closed(t, other)
		require.NoError(t, db.Check(t.Context()))
		require.NoError(t, db.Close())
		require.NoFileExists(t, refuge)
		require.Equal(t, 3, readingsIn(t, db.path, h))
	}
}

// A file that comes back without what was done meanwhile is not taken for the study.
func TestAFileComesBackThatLacksSomething(t *testing.T) {
	db, h, f, back := away(t)
	require.ErrorIs(t, db.AddReading(t.Context(), storetest.Reading("meanwhile", h, f)), study.ErrMoved)
	back()
	require.ErrorIs(t, db.Check(t.Context()), study.ErrMoved)
	require.ErrorIs(t, db.AddReading(t.Context(), storetest.Reading("after", h, f)), study.ErrMoved, "nothing is said to be in the file that is not")
	to := filepath.Join(t.TempDir(), "saved.study")
	require.NoError(t, db.SaveAs(t.Context(), to))
	require.ErrorIs(t, db.Close(), study.ErrMoved)
	require.Equal(t, 3, readingsIn(t, to, h))
	require.Equal(t, 1, readingsIn(t, db.path, h))
}

func TestAnotherFileComesInItsPlace(t *testing.T) {
	db, h, f, back := away(t)
	back()
	b, err := os.ReadFile(db.path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(db.path+".new", b, 0o600))
	require.NoError(t, os.Rename(db.path+".new", db.path))
	require.ErrorIs(t, db.Check(t.Context()), study.ErrMoved)
	require.ErrorIs(t, db.AddReading(t.Context(), storetest.Reading("after", h, f)), study.ErrMoved)
	require.ErrorIs(t, db.Close(), study.ErrMoved)
	require.NoError(t, os.Remove(db.refuge))
}
