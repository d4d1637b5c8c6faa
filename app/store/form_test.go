package store

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// executed runs statements on a file by other means than the program's.
func executed(t *testing.T, path, statements string) {
	t.Helper()
	other, err := connect(path)
	require.NoError(t, err)
	_, err = other.Exec("PRAGMA foreign_keys = 0; " + statements)
	require.NoError(t, err)
	require.NoError(t, other.Close())
}

func TestOpenRefusesAnotherForm(t *testing.T) {
	for _, c := range []struct{ name, statements, want string }{
		{"a table dropped", "DROP TABLE edges", "table edges"},
		{"a column put in", "ALTER TABLE hip ADD COLUMN mine TEXT", "table hip"},
		{"a column dropped", "ALTER TABLE draft RENAME TO d; CREATE TABLE draft (film_id TEXT); DROP TABLE d", "table draft"},
		{"a trigger dropped", "DROP TRIGGER reading_update", "trigger reading_update"},
		{"a trigger that does nothing", "DROP TRIGGER reading_update; CREATE TRIGGER reading_update BEFORE UPDATE ON reading BEGIN SELECT 1; END", "trigger reading_update"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "s.study")
			db, _, _ := seeded(t, path)
			closed(t, db)
			executed(t, path, c.statements)
			for _, open := range []func() (*DB, error){
				func() (*DB, error) { return Open(path) },
				func() (*DB, error) { return Look(t.Context(), path) },
				func() (*DB, error) { return openReadOnly(t.Context(), path) },
			} {
				_, err := open()
				require.ErrorIs(t, err, study.ErrDamaged)
				require.Contains(t, study.Told(err), c.want+" is missing or was changed by other means")
			}
			_, err := Open(path)
			require.Contains(t, study.Told(err), "linerwatch study salvage s.study")
			_, err = Salvage(t.Context(), path, filepath.Join(t.TempDir(), "new.study"), by)
			require.NoError(t, err, "what the refusal says to do can be done")
		})
	}
}

// One that is changed while it is open is found by Audit.
func TestAuditFindsAMissingTrigger(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.study")
	db, _, _ := seeded(t, path)
	defer closed(t, db)
	executed(t, path, "DROP TRIGGER reading_update")
	a, err := db.Audit(t.Context())
	require.NoError(t, err)
	require.Len(t, a.Broken, 1)
	require.Equal(t, "trigger reading_update is missing or was changed: it is part of what keeps the study as it was saved", study.NoteWords(a.Broken[0].Why))
}
