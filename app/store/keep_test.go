package store

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// What opens a study to be read changes none of an earlier version.
func TestLookChangesNothing(t *testing.T) {
	for _, step := range []int{1, 6, 9} {
		path := earlier(t, step)
		before, err := os.ReadFile(path)
		require.NoError(t, err)
		_, err = Look(t.Context(), path)
		require.ErrorIs(t, err, study.ErrEarlier)
		require.Equal(t, fmt.Sprintf("of an earlier version of the program (file version %d, this program's is %d) (old.study)", step, len(migrations())), study.Told(err))
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, before, after)
		assert.Equal(t, []string{"old.study"}, names(t, filepath.Dir(path)))
	}
}

// Before a file of an earlier version is changed a backup of it is made, which that version opens.
func TestBackupBeforeMigration(t *testing.T) {
	path := earlier(t, 9)
	before, err := connect(path)
	require.NoError(t, err)
	var readings int
	require.NoError(t, before.QueryRow("SELECT count(*) FROM reading").Scan(&readings))
	require.NoError(t, before.Close())
	closed(t, openAt(t, path))
	list := Backups(path)
	require.Len(t, list, 1)
	backup, err := connect(list[0])
	require.NoError(t, err)
	var version, kept int
	require.NoError(t, backup.QueryRow("PRAGMA user_version").Scan(&version))
	require.NoError(t, backup.QueryRow("SELECT count(*) FROM reading").Scan(&kept))
	require.NoError(t, backup.Close())
	assert.Equal(t, []int{9, readings}, []int{version, kept})
}

// A backup of a study in use has all of it, nobody else may read it, and the oldest go.
func TestBackups(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	defer closed(t, db)
	require.NoError(t, db.SetSetting(ctx, KeptKey, "3", by))
	now := time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)
	for i := range 5 {
		require.NoError(t, db.AddReading(ctx, storetest.Reading(fmt.Sprint(i), h, f)))
		to, err := Backup(ctx, path, "", now.Add(time.Duration(i)*time.Hour))
		require.NoError(t, err)
		info, err := os.Stat(to)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode())
		copied := openAt(t, to)
		want, err := db.Audit(ctx)
		require.NoError(t, err)
		got, err := copied.Audit(ctx)
		require.NoError(t, err)
		assert.Equal(t, want, got)
		assert.Empty(t, got.Broken)
		closed(t, copied)
	}
	var kept []string
	for _, b := range Backups(path) {
		kept = append(kept, filepath.Base(b))
	}
	assert.Equal(t, []string{"s-20300101T020000.000Z-7.study", "s-20300101T030000.000Z-8.study", "s-20300101T040000.000Z-9.study"}, kept)

	require.NoError(t, os.WriteFile(filepath.Join(backupFolder(path), "notes.txt"), []byte("mine"), 0o600))
	dir := filepath.Join(t.TempDir(), "elsewhere")
	to, err := Backup(ctx, path, dir, now)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(dir, "s-20300101T000000.000Z-9.study"), to)
	_, err = Backup(ctx, path, dir, now)
	require.ErrorIs(t, err, ErrExists)
	assert.Len(t, names(t, backupFolder(path)), 4, "what is not a backup stays")
}

// The backup of the day is made when the study is opened on a later day, once for what it holds.
func TestDailyBackup(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, _, _ := seeded(t, path)
	closed(t, db)
	open := func() {
		db := openAt(t, path)
		require.NoError(t, db.Check(ctx))
		closed(t, db)
	}
	open()
	assert.Empty(t, Backups(path), "it was changed today")
	yesterday := time.Now().AddDate(0, 0, -1)
	for range 2 {
		require.NoError(t, os.Chtimes(path, yesterday, yesterday))
		open()
		assert.Len(t, Backups(path), 1, "what has not changed is not kept twice")
	}
	db = openAt(t, path)
	require.NoError(t, db.SetSetting(ctx, "a", "b", by))
	closed(t, db)
	require.NoError(t, os.Chtimes(path, yesterday, yesterday))
	open()
	assert.Len(t, Backups(path), 2)

	look, err := Look(ctx, path)
	require.NoError(t, err)
	require.NoError(t, look.Check(ctx))
	closed(t, look)
	assert.Len(t, Backups(path), 2)
}

// A study that stays open for days is backed up on each on which it has something new.
func TestDailyBackupOfAnOpenStudy(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, h, f := seeded(t, path)
	defer closed(t, db)
	require.NoError(t, db.Check(ctx)) // what looks at the clock in the background has ended
	day := 0
	began := db.opened
	db.now = func() time.Time { return began.AddDate(0, 0, day) }
	var counts []int
	for ; day < 7; day++ {
		for range 3 {
			require.NoError(t, db.Check(ctx))
		}
		require.NoError(t, db.NotBackedUp(ctx))
		counts = append(counts, len(Backups(path)))
		if day < 2 || day == 5 {
			require.NoError(t, db.AddReading(ctx, storetest.Reading(fmt.Sprint("r", day), h, f)))
		}
	}
	assert.Equal(t, []int{0, 1, 2, 2, 2, 2, 3}, counts, "read on the days 0, 1 and 5")
	last := openAt(t, Backups(path)[2])
	list, err := last.Readings(ctx, h.ID)
	require.NoError(t, err)
	assert.Len(t, list, 3)
	closed(t, last)

	day = 8
	require.NoError(t, db.SetSetting(ctx, KeptKey, "2", by))
	require.NoError(t, db.Check(ctx))
	assert.Len(t, Backups(path), 2, "old ones go")

	require.NoError(t, os.Rename(backupFolder(path), backupFolder(path)+" away"))
	require.NoError(t, os.WriteFile(backupFolder(path), nil, 0o600))
	require.NoError(t, db.SetSetting(ctx, "a", "b", by))
	day = 9
	require.NoError(t, db.Check(ctx))
	failed := db.NotBackedUp(ctx)
	require.ErrorContains(t, failed, "store.no-backup")
	require.NoError(t, db.Check(ctx))
	assert.Same(t, failed, db.NotBackedUp(ctx), "once a day")
	require.NoError(t, os.Remove(backupFolder(path)))
	day = 10
	require.NoError(t, db.Check(ctx))
	require.NoError(t, db.NotBackedUp(ctx))
	assert.Len(t, Backups(path), 1)
}

// A backup that cannot be made is told, keeps nobody from working, and is tried again.
func TestBackupThatFailsIsTold(t *testing.T) {
	ctx := t.Context()
	path := filepath.Join(t.TempDir(), "s.study")
	db, _, _ := seeded(t, path)
	closed(t, db)
	yesterday := time.Now().AddDate(0, 0, -1)
	require.NoError(t, os.WriteFile(backupFolder(path), nil, 0o600)) // a file where the folder is to be
	require.NoError(t, os.Chtimes(path, yesterday, yesterday))
	db = openAt(t, path)
	require.NoError(t, db.Check(ctx))
	err := db.NotBackedUp(ctx)
	require.Error(t, err)
	require.Contains(t, study.Told(err), "no backup of s.study was made today; there is none: ")
	closed(t, db)

	require.NoError(t, os.Remove(backupFolder(path)))
	db = openAt(t, path)
	require.NoError(t, db.NotBackedUp(ctx))
	require.Len(t, Backups(path), 1)
	require.NoError(t, db.SetSetting(ctx, "a", "b", by))
	closed(t, db)
}

// Nobody but its owner may read a study: it holds data of patients.
func TestModeOfFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.study")
	db, _, _ := seeded(t, path)
	other := filepath.Join(filepath.Dir(path), "other.study")
	require.NoError(t, db.SaveAs(t.Context(), other))
	for _, name := range []string{path, other} {
		info, err := os.Stat(name)
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode(), name)
	}
	closed(t, db)
}

// Of a damaged study all is saved that can be read, the rest is counted, and where a backup
// is is said.
func TestSalvage(t *testing.T) {
	ctx := t.Context()
	for _, name := range []string{"sound", "a page of readings", "a page of edges", "the films", "cut off"} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "s.study")
			db, h, f := seeded(t, path)
			const many = 120
			for i := range many {
				require.NoError(t, db.AddReading(ctx, storetest.Reading(fmt.Sprintf("r%03d", i), h, f)))
			}
			_, err := db.SavePatient(ctx, study.Patient{Code: "P-017", Sex: "female"}, by)
			require.NoError(t, err)
			backup, err := Backup(ctx, path, "", by.At)
			require.NoError(t, err)
			pages := map[string][]int64{}
			for table, query := range map[string]string{"reading": "reading", "edges": "edges", "film": "film"} {
				pages[table], err = collect(ctx, db.db, "SELECT pageno FROM dbstat WHERE name = ? AND pagetype = 'leaf' ORDER BY pageno", []any{query},
					func(scan scanner) (n int64, err error) { err = scan(&n); return n, err })
				if err != nil {
					pages[table] = nil
				}
			}
			closed(t, db)
			b, err := os.ReadFile(path)
			require.NoError(t, err)
			size := int64(4096)
			spoil := func(page int64) {
				for i := range size {
					b[(page-1)*size+i] = 0x55
				}
			}
			switch name {
			case "a page of readings":
				spoil(pages["reading"][len(pages["reading"])/2])
			case "a page of edges":
				spoil(pages["edges"][len(pages["edges"])/2])
			case "the films":
				spoil(pages["film"][0])
			case "cut off":
				b = b[:int64(len(b))*9/10/size*size]
			}
			require.NoError(t, os.WriteFile(path, b, 0o600))
			out := filepath.Join(filepath.Dir(path), "new.study")
			done, err := Salvage(ctx, path, out, by)
			require.NoError(t, err)
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			require.Equal(t, b, after, "the damaged file stays as it was")
			kinds := map[string]study.SalvagedKind{}
			lost := 0
			for _, k := range done.Kinds {
				kinds[k.Name] = k
				lost += k.Lost
			}
			t.Logf("%+v", kinds)
			db = openAt(t, out)
			defer closed(t, db)
			require.NoError(t, db.Check(ctx))
			list, err := db.Readings(ctx, h.ID)
			require.NoError(t, err)
			assert.Len(t, list, kinds["reading"].Read)
			for _, g := range list {
				want := storetest.Reading(g.ID, h, f)
				require.Equal(t, want.Bare(), g, "what is salvaged is as it was")
			}
			films, err := db.Films(ctx, h.ID)
			require.NoError(t, err)
			assert.Equal(t, []study.Film{f}, films)
			r, err := db.Record(ctx, h.ID)
			require.NoError(t, err)
			assert.Equal(t, "female", r.Patient.Sex)
			a, err := db.Audit(ctx)
			require.NoError(t, err)
			switch name {
			case "sound":
				assert.Zero(t, lost)
				assert.Equal(t, many, kinds["reading"].Read)
				assert.Empty(t, a.Broken)
			case "the films":
				assert.Equal(t, 1, kinds["film"].Told, "the trail has it")
				assert.Equal(t, many, kinds["reading"].Read)
			default:
				assert.NotZero(t, lost)
				assert.NotEmpty(t, a.Broken, "the trail tells what is missing")
				assert.Equal(t, many, kinds["reading"].Read+kinds["reading"].Lost, "each is counted once")
			}
			if name != "sound" {
				db, err := Open(path)
				if err == nil {
					err = db.Check(ctx)
					_ = db.Close() // a damaged file may not close in order
				}
				require.ErrorIs(t, err, study.ErrDamaged)
				require.Contains(t, study.Told(err), backup)
			}
		})
	}
	_, err := Salvage(ctx, filepath.Join(t.TempDir(), "none"), "x", by)
	require.ErrorIs(t, err, ErrNone)
}

// Of a file that has lost what says what is in it nothing can be saved, and nobody is sent in a circle.
func TestSalvageOfNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.study")
	db, _, _ := seeded(t, path)
	closed(t, db)
	require.NoError(t, os.Truncate(path, 8192))
	out := filepath.Join(filepath.Dir(path), "out.study")
	_, err := Salvage(t.Context(), path, out, by)
	require.ErrorIs(t, err, study.ErrDamaged)
	require.Equal(t, "the part of the file that says what is in it is damaged: nothing can be read, and there is no backup beside it (s.study)", study.Told(err))
	require.NoFileExists(t, out)
}
