package store

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// tampered makes a study with something of each kind, lets statements be executed on it by
// other means, and returns what is found.
func tampered(t *testing.T, statements string) study.Audit {
	t.Helper()
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	for _, id := range []string{"r1", "r2", "r3"} {
		require.NoError(t, db.AddReading(ctx, storetest.Reading(id, h, f)))
	}
	require.NoError(t, db.AddWithdrawal(ctx, study.Withdrawal{ReadingID: "r2", Reader: "R3", At: by.At}))
	require.NoError(t, db.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: f.ID, Code: "other", Reader: "R3", At: by.At}))
	require.NoError(t, db.SetSetting(ctx, "readings that count", "R1", by))
	_, err := db.SavePatient(ctx, study.Patient{Code: "P-017", Sex: "female"}, by)
	require.NoError(t, err)
	closed(t, db)
	if statements != "" {
		other, err := connect(path)
		require.NoError(t, err)
		_, err = other.Exec(statements)
		require.NoError(t, err)
		require.NoError(t, other.Close())
	}
	db = openAt(t, path)
	defer closed(t, db)
	a, err := db.Audit(ctx)
	require.NoError(t, err)
	for _, page := range []int{1, 2} {
		same, err := db.audit(ctx, page)
		require.NoError(t, err)
		require.Equal(t, a, same, "%d things at once", page)
	}
	return a
}

// The statements leave the triggers as they were, so that these do not give it away.
const (
	openTrail = "DROP TRIGGER trail_update; DROP TRIGGER trail_delete;"
	shutTrail = `CREATE TRIGGER trail_update BEFORE UPDATE ON trail BEGIN
    SELECT RAISE (ABORT, 'the audit trail is never changed');
END; CREATE TRIGGER trail_delete BEFORE DELETE ON trail BEGIN
    SELECT RAISE (ABORT, 'the audit trail is never shortened');
END;`
	openReading = "DROP TRIGGER reading_update; DROP TRIGGER reading_delete; DROP TRIGGER edges_update;"
	shutReading = `CREATE TRIGGER reading_update BEFORE UPDATE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never changed');
END; CREATE TRIGGER reading_delete BEFORE DELETE ON reading BEGIN
    SELECT RAISE (ABORT, 'readings are never deleted');
END; CREATE TRIGGER edges_update BEFORE UPDATE ON edges BEGIN
    SELECT RAISE (ABORT, 'edge points are never changed');
END;`
)

func TestAuditFindsWhatWasTamperedWith(t *testing.T) {
	for _, c := range []struct {
		name, statements string
		seq              int64  // of the row that the first break is found by
		reader, want     string // empty where nothing is found
	}{
		{"nothing", "", 0, "", ""},
		{"a trigger of one's own", "CREATE TRIGGER mine AFTER INSERT ON reading BEGIN DELETE FROM draft; END", 0, "", "trigger mine is not the program's"},
		{"a reading edited", openReading + "UPDATE reading SET head_mm = 32 WHERE id = 'r2';" + shutReading, 5, "R2",
			"reading r2 is not as the audit trail says: it was changed by other means"},
		{"its reader", openReading + "UPDATE reading SET reader = 'R9' WHERE id = 'r1';" + shutReading, 4, "R2",
			"reading r1 is not as the audit trail says: it was changed by other means"},
		{"its edge points", openReading + "UPDATE edges SET cup = CAST(substr(cup, 1, length(cup) - 1) || x'07' AS BLOB) WHERE reading = 3;" + shutReading, 6, "R2",
			"reading r3 is not as the audit trail says: it was changed by other means"},
		{"a reading deleted", openReading + "PRAGMA foreign_keys = 0; DROP TRIGGER edges_delete; DELETE FROM edges WHERE reading = 3; DELETE FROM reading WHERE id = 'r3';" +
			"CREATE TRIGGER edges_delete BEFORE DELETE ON edges BEGIN\n    SELECT RAISE (ABORT, 'edge points are never deleted');\nEND;" + shutReading, 6, "R2",
			"reading r3 is in the audit trail and not in the study: it was removed by other means"},
		{"a reading put in", "INSERT INTO reading SELECT 9, 'r9', hip_id, film_id, sha256, reader, at, version, NULL, status, reason, side, cup_kind, head_mm, head, cup, " +
			"head_points, cup_points, rim, result, list_id, list_kind, place, occasion, start, untouched FROM reading WHERE id = 'r1'; INSERT INTO edges SELECT 9, head, cup FROM edges WHERE reading = 1", 0, "",
			"reading r9 is in the study and not in the audit trail: it was put in by other means"},
		{"a hip edited", "UPDATE hip SET head_mm = 32", 1, "R1", "hip H1 is not as the audit trail says: it was changed by other means"},
		{"a film edited", "UPDATE film SET date = '2001-01-01'", 2, "R1", "film F1 is not as the audit trail says: it was changed by other means"},
		{"a setting edited", "UPDATE setting SET value = 'R2'", 9, "R1", "setting readings that count is not as the audit trail says: it was changed by other means"},
		{"a setting put in", "INSERT INTO setting VALUES ('x', 'y')", 0, "", "setting x is in the study and not in the audit trail: it was put in by other means"},
		{"a patient removed", "DELETE FROM patient", 10, "R1", "patient /P-017 is in the audit trail and not in the study: it was removed by other means"},
		{"a withdrawal put in", "INSERT INTO withdrawal (reading_id, back, reader, at, version) VALUES ('r2', 1, 'R3', '', '')", 0, "",
			"withdrawal 2 is in the study and not in the audit trail: it was put in by other means"},
		{"a row of the trail edited", openTrail + "UPDATE trail SET reader = 'R9' WHERE seq = 5;" + shutTrail, 5, "R9",
			"row 5 of the audit trail does not follow from the row before: one of the two was changed, put in or exchanged"},
		{"its time", openTrail + "UPDATE trail SET at = '2026-03-01T12:30:16Z' WHERE seq = 3;" + shutTrail, 3, "R1",
			"row 3 of the audit trail does not follow from the row before: one of the two was changed, put in or exchanged"},
		{"a row deleted", openTrail + "DELETE FROM trail WHERE seq = 5;" + shutTrail, 6, "R2", "row 5 of the audit trail is missing"},
		{"rows deleted, the rest numbered anew", openTrail + "DELETE FROM trail WHERE seq = 5; UPDATE trail SET seq = seq - 1 WHERE seq > 5;" + shutTrail, 5, "R2",
			"row 5 of the audit trail does not follow from the row before: one of the two was changed, put in or exchanged"},
		{"two rows swapped", openTrail + "UPDATE trail SET seq = -1 WHERE seq = 4; UPDATE trail SET seq = 4 WHERE seq = 5; UPDATE trail SET seq = 5 WHERE seq = -1;" + shutTrail, 4, "R2",
			"row 4 of the audit trail does not follow from the row before: one of the two was changed, put in or exchanged"},
		{"a row put in at the end", "INSERT INTO trail (at, reader, version, what, id, old, new, why, hash) SELECT at, reader, version, 'setting', 'y', '', '1', '', hash FROM trail WHERE seq = 5", 11, "R2",
			"row 11 of the audit trail does not follow from the row before: one of the two was changed, put in or exchanged"},
		{"the end cut off", openTrail + "DELETE FROM trail WHERE seq > 8;" + shutTrail, 8, "R3", "the end of the audit trail is missing: rows 9 to 10"},
		{"the end cut off and noted so", openTrail + "DELETE FROM trail WHERE seq = 10; UPDATE trail_end SET seq = 9, hash = (SELECT hash FROM trail WHERE seq = 9);" + shutTrail, 9, "R1",
			"the end of the audit trail is missing: row 10"},
		{"all of it", openTrail + "DELETE FROM trail;" + shutTrail, 0, "", "the end of the audit trail is missing: rows 1 to 10"},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := tampered(t, c.statements)
			if c.want == "" {
				require.Empty(t, a.Broken)
				require.Equal(t, int64(10), a.Changes)
				require.Equal(t, 3, a.Readings)
				require.Len(t, a.End, 64)
				return
			}
			require.NotEmpty(t, a.Broken)
			var said []string
			for _, b := range a.Broken {
				said = append(said, study.NoteWords(b.Why))
			}
			first := a.Broken[0]
			require.Equal(t, c.want, said[0], "%q", said)
			assert.Equal(t, c.seq, first.Seq)
			assert.Equal(t, c.reader, first.Reader)
		})
	}
}

// Whoever makes the whole chain anew, with the program's own means, is not found out by the
// file alone; doc.go says so. What was noted of the end elsewhere tells it.
func TestTrailMadeAnewIsTheSame(t *testing.T) {
	ctx := t.Context()
	db, _, _ := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	before, err := db.Audit(ctx)
	require.NoError(t, err)
	_, err = db.db.ExecContext(ctx, openTrail+"DELETE FROM trail WHERE seq = 3; DELETE FROM link; DELETE FROM sqlite_sequence WHERE name = 'trail';"+
		"UPDATE trail_end SET seq = 2, hash = (SELECT hash FROM trail WHERE seq = 2);"+shutTrail)
	require.NoError(t, err)
	after, err := db.Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, after.Broken)
	assert.NotEqual(t, before.End, after.End)
}

// A clock that was set back is told, and breaks nothing.
func TestClockSetBack(t *testing.T) {
	ctx := t.Context()
	db, h, f := seeded(t, filepath.Join(t.TempDir(), "s.study"))
	defer closed(t, db)
	early := by
	early.At = by.At.AddDate(-1, 0, 0)
	require.NoError(t, db.SetSetting(ctx, "a", "b", early))
	r := storetest.Reading("r1", h, f)
	r.At = early.At.AddDate(0, 0, 1)
	require.NoError(t, db.AddNext(ctx, r))
	second := storetest.Reading("r2", h, f)
	second.At, second.Supersedes = early.At, "r1"
	require.NoError(t, db.AddNext(ctx, second))
	a, err := db.Audit(ctx)
	require.NoError(t, err)
	assert.Empty(t, a.Broken)
	require.Len(t, a.Back, 2)
	assert.Equal(t, []int64{4, 6}, []int64{a.Back[0].Seq, a.Back[1].Seq})
	rec, err := db.Record(ctx, h.ID)
	require.NoError(t, err)
	assert.Equal(t, "r2", rec.Standing(f.ID, study.Anyone).ID, "the order in which they were saved counts, not the clock")
}
