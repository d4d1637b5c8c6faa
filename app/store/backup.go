package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"linerwatch/app/study"
)

// Backups of a study are files in a folder beside it, NAME-backups, named for the moment
// and for the number of rows that the audit trail had. One is made before a file of an earlier
// version is changed, one when the study is opened to be changed on a later day than that of
// its last change, and one on each later day that it stays open, at the first Check of that day; none
// where the newest has all that the study has.

// KeptKey is the setting of a study that says how many backups are kept in that folder.
const KeptKey = "backups kept"

// defaultKept is how many are, where the study does not say.
const defaultKept = 10

const backupTime = "20060102T150405.000Z"

// backupFolder is where the backups of the study at path are.
func backupFolder(path string) string { return stem(path) + "-backups" }

func stem(path string) string { return strings.TrimSuffix(path, filepath.Ext(path)) }

// backupName names a backup of the study at path.
func backupName(path string, now time.Time, rows int64) string {
	return fmt.Sprintf("%s-%s-%d%s", filepath.Base(stem(path)), now.UTC().Format(backupTime), rows, filepath.Ext(path))
}

// Backups returns the paths of the backups in the folder of a study, the oldest first.
func Backups(path string) []string { return backupsIn(backupFolder(path), path) }

func backupsIn(dir, path string) (out []string) {
	is := regexp.MustCompile("^" + regexp.QuoteMeta(filepath.Base(stem(path))) + `-\d{8}T\d{6}\.\d{3}Z-\d+` + regexp.QuoteMeta(filepath.Ext(path)) + "$")
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil // there are none
	}
	for _, e := range entries {
		if is.MatchString(e.Name()) {
			out = append(out, filepath.Join(dir, e.Name()))
		}
	}
	slices.Sort(out)
	return out
}

// rowsOf returns the number of rows of the trail that a backup's name says.
func rowsOf(backup string) int64 {
	name := stem(backup)
	n, err := strconv.ParseInt(name[strings.LastIndex(name, "-")+1:], 10, 64)
	if err != nil {
		return -1
	}
	return n
}

// Backup writes a backup of the study at path, which may be in use, to a folder, the one
// beside it for "", and looks whether it is whole. It returns its path. In the folder beside
// the study the oldest ones beyond those that are kept are removed.
func Backup(ctx context.Context, path, dir string, now time.Time) (_ string, err error) {
	s, err := Look(ctx, path)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := s.Check(ctx); err != nil {
		return "", err
	}
	if dir == "" {
		return s.backUp(ctx, s.main(), now)
	}
	to, err := backUpTo(ctx, s.main(), path, dir, now)
	return to, s.fault(named("store.back-up"), err)
}

func (s *DB) backUp(ctx context.Context, db *sql.DB, now time.Time) (string, error) {
	to, err := backUpTo(ctx, db, s.path, backupFolder(s.path), now)
	if err == nil {
		err = prune(ctx, db, s.path)
	}
	return to, s.fault(named("store.back-up"), err)
}

// backUpTo writes a backup of what db holds into a folder.
func backUpTo(ctx context.Context, db *sql.DB, path, dir string, now time.Time) (_ string, err error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	defer func() {
		if err != nil {
			_ = os.Remove(dir) // only where there is nothing in it
		}
	}()
	rows, end, err := trailEnd(ctx, db)
	if err != nil {
		return "", err
	}
	to := filepath.Join(dir, backupName(path, now, rows))
	err = place(to, func(part string) error {
		if err := vacuumInto(ctx, db, part); err != nil {
			return err
		}
		return whole(ctx, part, rows, end)
	})
	return to, err
}

// vacuumInto writes what db holds to a new file that only its owner may read.
func vacuumInto(ctx context.Context, db *sql.DB, part string) error {
	if err := makeEmpty(part); err != nil {
		return err
	}
	_, err := db.ExecContext(ctx, "VACUUM INTO ?", part)
	return err
}

// makeEmpty makes an empty file. A study holds patients' data: others than its owner may
// not read it.
func makeEmpty(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// trailEnd returns the number of rows of the trail and the hash of the last; none in a file
// from before there was one.
func trailEnd(ctx context.Context, q querier) (rows int64, hash string, err error) {
	var there bool
	if err := q.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM sqlite_schema WHERE name = 'trail_end')").Scan(&there); err != nil || !there {
		return 0, "", err
	}
	err = q.QueryRowContext(ctx, "SELECT seq, hash FROM trail_end").Scan(&rows, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return rows, hash, err
}

// whole reports where a backup is not sound, or does not have the rows that it should.
func whole(ctx context.Context, path string, rows int64, end string) (err error) {
	db, err := connect(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if err := quickCheck(ctx, db); err != nil {
		return err
	}
	n, hash, err := trailEnd(ctx, db)
	if err == nil && (n != rows || hash != end) {
		err = refused("store.backup-differs")
	}
	return err
}

// prune removes the oldest backups beyond the number that is kept.
func prune(ctx context.Context, q querier, path string) error {
	keep := defaultKept
	var text string
	switch err := q.QueryRowContext(ctx, "SELECT value FROM setting WHERE key = ?", KeptKey).Scan(&text); {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return err
	default:
		if n, err := strconv.Atoi(text); err == nil && n > 0 {
			keep = n
		}
	}
	list := Backups(path)
	for _, old := range list[:max(0, len(list)-keep)] {
		if err := os.Remove(old); err != nil {
			return err
		}
	}
	return nil
}

// daily is when the backup of the day was last due, and how that ended.
type daily struct {
	mu  sync.Mutex // while one is made
	at  time.Time
	err atomic.Pointer[error] // as NotBackedUp tells it
}

// dueToday makes the backup of the day where it is due: the study was last changed on an
// earlier day than now. One that fails keeps nobody from working: NotBackedUp tells why.
func (s *DB) dueToday(ctx context.Context, changed time.Time, db func() (*sql.DB, error)) {
	if !s.keeps {
		return
	}
	if !s.daily.mu.TryLock() {
		return // one is being made
	}
	defer s.daily.mu.Unlock()
	now := s.now()
	if sameDay(now, changed) || sameDay(now, s.daily.at) || s.still() != nil {
		return
	}
	from, err := db()
	if err == nil {
		err = s.backUpNew(ctx, from, now)
	}
	if ctx.Err() != nil {
		return // it is due still
	}
	s.daily.at = now
	if err != nil {
		err = wrapped(err, "store.no-backup", "File", filepath.Base(s.path), "Newest", filepath.Base(newestBackup(s.path)))
	}
	s.daily.err.Store(&err)
}

// anotherDay makes the backup of the day of a study that has been open since an earlier one.
func (s *DB) anotherDay(ctx context.Context) {
	var db *sql.DB
	s.dueToday(ctx, s.opened, func() (_ *sql.DB, err error) {
		if db, err = s.connect(); err != nil {
			return nil, err
		}
		return db, errors.Join(db.PingContext(ctx), s.still()) // it could be to another file
	})
	if db != nil {
		_ = db.Close() // it has only read
	}
}

// backUpNew makes a backup where none has the state of the study.
func (s *DB) backUpNew(ctx context.Context, db *sql.DB, now time.Time) error {
	rows, _, err := trailEnd(ctx, db)
	if err != nil || rows == 0 {
		return err
	}
	if list := Backups(s.path); len(list) > 0 && rowsOf(list[len(list)-1]) == rows {
		return nil
	}
	_, err = s.backUp(ctx, db, now)
	return err
}

// NotBackedUp implements study.BackingUp.
func (s *DB) NotBackedUp(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return nil // it is not known yet
	case <-s.check.done:
	}
	if err := s.daily.err.Load(); err != nil {
		return *err
	}
	return nil
}

func sameDay(a, b time.Time) bool {
	return a.Local().Format(time.DateOnly) == b.Local().Format(time.DateOnly)
}

// newestBackup names the newest backup for a person, nothing where there is none.
func newestBackup(path string) string {
	if list := Backups(path); len(list) > 0 {
		return list[len(list)-1]
	}
	return ""
}

// damaged adds to an error that a study is damaged how it is restored.
func damaged(path string, err error) error {
	if !errors.Is(err, study.ErrDamaged) {
		return err
	}
	return wrapped(err, "store.restore", "File", filepath.Base(path), "Backup", newestBackup(path))
}
