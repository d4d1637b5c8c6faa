package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	sqlite3 "modernc.org/sqlite/lib"

	"linerwatch/app/study"
)

// DB is an open study file. It may be used by several goroutines, and several
// programs may have the same file open.
type DB struct {
	path string
	file *heldFile // that was opened, so that it outlives its name

	writing  sync.RWMutex // read-locked by who writes, locked by who changes the connections
	db       *sql.DB      // one connection, for all but Records
	look     *sql.DB      // one connection, so that nothing waits for Records
	left     atomic.Bool  // for another file, since file is not at its place
	refuge   string       // path of that
	was      []*sql.DB    // connections to file, while it is left
	whole    bool         // all was folded into file when it was left
	apart    atomic.Bool  // something was committed to refuge, which file lacks
	copies   []copied
	kept     atomic.Bool // all of refuge has been saved under another name
	unfolded atomic.Bool // the log could not be folded in after the last commit
	check    check
}

var _ study.Store = (*DB)(nil)

// Open opens the study file at path. A file that is refused, as is an empty one, is not
// changed; a study of an earlier version of the program is brought to this one's form.
// Whether the whole file is sound is looked at in the background: see Check.
func Open(path string) (*DB, error) {
	return OpenTold(context.Background(), path, nil)
}

// OpenTold is Open that tells how far the change of a file of an earlier version has come,
// which takes a minute and more for thousands of readings. Where ctx ends meanwhile
// nothing of the file is lost, and it can be opened again.
func OpenTold(ctx context.Context, path string, tell Progress) (*DB, error) {
	s, err := open(ctx, path, tell)
	if err != nil {
		return nil, refusal(path, err)
	}
	return s, nil
}

// Create makes a study file at path and opens it. It refuses to replace a file.
func Create(path string) (*DB, error) {
	s, err := create(context.Background(), path)
	if err != nil {
		return nil, refusal(path, err)
	}
	return s, nil
}

func refusal(path string, err error) error {
	return fmt.Errorf("store: %w (%s)", plain(err), filepath.Base(path))
}

func create(ctx context.Context, path string) (*DB, error) {
	if err := checkFolder(filepath.Dir(path)); err != nil {
		return nil, err
	}
	err := place(path, func(part string) (err error) {
		f, err := os.OpenFile(part, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o666)
		if err != nil {
			return err
		}
		if err := f.Close(); err != nil {
			return err
		}
		db, err := connect(part)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, db.Close()) }()
		return migrate(ctx, db, migrations(), nil)
	})
	if err != nil {
		return nil, err
	}
	return open(ctx, path, nil)
}

func open(ctx context.Context, path string, tell Progress) (_ *DB, err error) {
	if err := checkFile(path); err != nil {
		return nil, err
	}
	s := &DB{path: path}
	if s.file, err = held.hold(path); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = s.disconnect() // the first error is the one to tell
		}
	}()
	if err := checkMagic(s.file); err != nil {
		return nil, err
	}
	if s.db, err = connect(path); err != nil {
		return nil, err
	}
	if err := s.upgrade(ctx, tell); err != nil {
		return nil, err
	}
	if s.look, err = connect(path); err != nil {
		return nil, err
	}
	// A connection made later could be to another file.
	if err := s.look.PingContext(ctx); err != nil {
		return nil, err
	}
	if err := s.still(); err != nil {
		return nil, err
	}
	if err := s.begin(); err != nil {
		return nil, err
	}
	return s, nil
}

// upgrade brings the file to the form of this version and to write-ahead logging.
func (s *DB) upgrade(ctx context.Context, tell Progress) error {
	all := migrations()
	version, err := studyVersion(ctx, s.db, len(all))
	if err != nil {
		return err
	}
	if version < len(all) {
		if err := quickCheck(ctx, s.db); err != nil {
			return err
		}
		if err := migrate(ctx, s.db, all, tell); err != nil {
			return err
		}
		if version <= packed {
			// Large files get small here. One that stays large is as good.
			_, _ = s.db.ExecContext(ctx, "VACUUM")
		}
	}
	return logAhead(ctx, s.db)
}

// busyWait is how long a statement waits for another program to finish its own.
const busyWait = 5 * time.Second

// logAhead changes the file to write-ahead logging. SQLite does not wait for
// other programs here, so it is asked again until busyWait is over.
func logAhead(ctx context.Context, db *sql.DB) error {
	for began := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		var mode string
		err := db.QueryRowContext(ctx, "PRAGMA journal_mode = WAL").Scan(&mode)
		switch {
		case isCode(err, sqlite3.SQLITE_BUSY) && time.Since(began) < busyWait:
		case err != nil:
			return err
		case mode != "wal":
			return fmt.Errorf("this disk cannot keep a write-ahead log (journal mode %s)", mode)
		default:
			return nil
		}
	}
}

const magic = "SQLite format 3\x00"

// checkFile refuses what is no file.
func checkFile(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := checkFolder(filepath.Dir(path)); err != nil {
			return err
		}
		return ErrNone
	case err != nil:
		return err
	case info.IsDir():
		return errors.New("a folder, not a study file")
	case info.Size() == 0:
		return ErrEmpty
	}
	return nil
}

// checkMagic refuses a file that is no database before SQLite touches it.
func checkMagic(f io.ReaderAt) error {
	head := make([]byte, len(magic))
	if _, err := f.ReadAt(head, 0); err != nil || !bytes.Equal(head, []byte(magic)) {
		return study.ErrNotStudy
	}
	return nil
}

func checkFolder(dir string) error {
	info, err := os.Stat(dir)
	if err != nil {
		return errors.New("there is no such folder")
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", filepath.Base(dir))
	}
	return nil
}

// studyVersion reads, from one state of the file, whether it is a study that this
// program knows, and the number of the last migration that it has had.
func studyVersion(ctx context.Context, db *sql.DB, known int) (version int, err error) {
	tx, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	var id int
	if err := tx.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if err := tx.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, err
	}
	switch {
	case id != applicationID || version < 1:
		return 0, study.ErrNotStudy
	case version > known:
		return 0, fmt.Errorf("%w: file version %d, this program knows %d", ErrNewer, version, known)
	}
	return version, nil
}

// Path returns the path the study was opened with.
func (s *DB) Path() string { return s.path }

// Close folds the write-ahead log into the file, so that the file is whole on
// its own, and closes it. Where another program still has the study open, that
// program does so when it closes. The error is ErrMoved where the file is not at its
// place; it is then closed all the same.
func (s *DB) Close() error {
	s.check.end()
	s.comeBack(context.Background())
	s.writing.Lock()
	defer s.writing.Unlock()
	defer s.dropCopies()
	moved := s.still()
	if moved != nil && !s.left.Load() {
		return s.fault("close", moved) // not closed: see leave
	}
	_, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	err = errors.Join(moved, err, s.disconnect())
	doing := "close"
	switch {
	case s.left.Load() && s.kept.Load():
		_ = os.Remove(s.refuge) // is in the way of nobody
	case s.left.Load():
		doing += "; what was saved last is in " + s.refuge
	}
	return s.fault(doing, err)
}

func (s *DB) disconnect() error {
	var errs []error
	for _, db := range []*sql.DB{s.look, s.db} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	if s.file != nil && !s.left.Load() { // SQLite still has one that was left
		held.release(s.file)
	}
	return errors.Join(errs...)
}
