package store

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// Lists and the end of their blinding are in the audit trail: one that is changed, or a place
// of a reading that is, is found.
func TestAuditHoldsLists(t *testing.T) {
	ctx := t.Context()
	for _, c := range []struct{ name, statements, want string }{
		{"nothing", "", ""},
		{"a list's order", "DROP TRIGGER reading_list_update; UPDATE reading_list SET seed = '8'; " +
			"CREATE TRIGGER reading_list_update BEFORE UPDATE ON reading_list BEGIN\n    SELECT RAISE (ABORT, 'reading lists are never changed');\nEND",
			"reading_list L1 is not as the audit trail says: it was changed by other means"},
		{"an unblinding taken back", "DROP TRIGGER unblinding_delete; DELETE FROM unblinding; " +
			"CREATE TRIGGER unblinding_delete BEFORE DELETE ON unblinding BEGIN\n    SELECT RAISE (ABORT, 'unblindings are never deleted');\nEND",
			"unblinding L1 is in the audit trail and not in the study: it was removed by other means"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "s.study")
			db, h, f := seeded(t, path)
			_, err := db.AddLists(ctx, []study.List{{Reader: "R1", Kind: study.ReadList, Seed: 7, Start: study.StartBlank,
				Places: []study.Place{{HipID: h.ID, FilmID: f.ID, Occasion: 1}}}}, by)
			require.NoError(t, err)
			require.NoError(t, db.AddUnblinding(ctx, study.Unblinding{ListID: "L1", Stamp: by}))
			closed(t, db)
			if c.statements != "" {
				other, err := connect(path)
				require.NoError(t, err)
				_, err = other.Exec(c.statements)
				require.NoError(t, err)
				require.NoError(t, other.Close())
			}
			db = openAt(t, path)
			defer closed(t, db)
			a, err := db.Audit(ctx)
			require.NoError(t, err)
			var said []string
			for _, b := range a.Broken {
				said = append(said, study.NoteWords(b.Why))
			}
			if c.want == "" {
				require.Empty(t, said)
				return
			}
			require.Equal(t, []string{c.want}, said)
		})
	}
}
