package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite" // the driver, and its error codes
	sqlite3 "modernc.org/sqlite/lib"

	"linerwatch/app/study"
)

// Why a file was refused; errors.Is finds them.
var (
	ErrNotStudy = errors.New("not a study file")
	ErrNewer    = errors.New("written by a newer version of the program")
	ErrDamaged  = errors.New("damaged; open a copy of it instead")
	ErrReadOnly = errors.New("the file or its folder cannot be written")
)

// DB is an open study file. It may be used by several goroutines, and several
// programs may have the same file open.
type DB struct {
	db   *sql.DB
	path string
}

var _ study.Store = (*DB)(nil)

// Open opens the study file at path, or creates it where there is none. A file
// that is refused is not changed.
func Open(path string) (*DB, error) {
	s, err := open(context.Background(), path)
	if err != nil {
		return nil, fmt.Errorf("store: %s: %w", path, plain(err))
	}
	return s, nil
}

func open(ctx context.Context, path string) (_ *DB, err error) {
	if err := checkMagic(path); err != nil {
		return nil, err
	}
	all, err := migrations()
	if err != nil {
		return nil, err
	}
	name, err := source(path)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = db.Close() // the first error is the one to tell
		}
	}()
	db.SetMaxOpenConns(1)
	if err := checkStudy(ctx, db, len(all)); err != nil {
		return nil, err
	}
	// A new file is made whole in the rollback journal, so that it is a study
	// file or nothing; only then does it change to write-ahead logging.
	if err := migrate(ctx, db, all); err != nil {
		return nil, err
	}
	if err := logAhead(ctx, db); err != nil {
		return nil, err
	}
	return &DB{db, path}, nil
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

func isCode(err error, code int) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == code
}

// source returns the data source name: the file as a URI, and the settings of
// every connection.
func source(path string) (string, error) {
	path, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	path = filepath.ToSlash(path)
	if !strings.HasPrefix(path, "/") { // a drive letter
		path = "/" + path
	}
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {
		fmt.Sprintf("busy_timeout(%d)", busyWait.Milliseconds()), "synchronous(FULL)", "foreign_keys(1)", "recursive_triggers(1)", "trusted_schema(0)",
	}}
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String(), nil
}

const magic = "SQLite format 3\x00"

// checkMagic refuses a file that is no database before SQLite touches it. No
// file and an empty one are a study yet to be made.
func checkMagic(path string) error {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return checkFolder(filepath.Dir(path))
	case err != nil:
		return err
	case info.IsDir():
		return errors.New("a folder, not a study file")
	case info.Size() == 0:
		return nil
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	head := make([]byte, len(magic))
	_, err = io.ReadFull(f, head)
	if cerr := f.Close(); cerr != nil {
		return cerr
	}
	if err != nil || !bytes.Equal(head, []byte(magic)) {
		return ErrNotStudy
	}
	return nil
}

func checkFolder(dir string) error {
	info, err := os.Stat(dir)
	if err != nil {
		return errors.New("there is no such folder")
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is not a folder", dir)
	}
	return nil
}

// checkStudy reads, from one state of the file, whether it is a study that this
// program knows, or empty.
func checkStudy(ctx context.Context, db *sql.DB, known int) error {
	tx, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return err
	}
	return errors.Join(checkState(ctx, tx, known), tx.Rollback())
}

func checkState(ctx context.Context, tx *sql.Tx, known int) error {
	var id, version, objects int
	for _, c := range []struct {
		query string
		to    *int
	}{
		{"PRAGMA application_id", &id},
		{"PRAGMA user_version", &version},
		{"SELECT count(*) FROM sqlite_schema", &objects},
	} {
		if err := tx.QueryRowContext(ctx, c.query).Scan(c.to); err != nil {
			return err
		}
	}
	switch {
	case id == 0 && version == 0 && objects == 0:
		return nil
	case id != applicationID:
		return ErrNotStudy
	case version > known:
		return fmt.Errorf("%w (file version %d, this program knows %d)", ErrNewer, version, known)
	}
	var verdict string
	if err := tx.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return ErrDamaged
	}
	return nil
}

// plain turns SQLite's result codes into what the reader can act on.
func plain(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		if errors.Is(err, os.ErrPermission) {
			return ErrReadOnly
		}
		return err
	}
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_NOTADB:
		return ErrNotStudy
	case sqlite3.SQLITE_CORRUPT:
		return ErrDamaged
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return ErrReadOnly
	case sqlite3.SQLITE_BUSY:
		return errors.New("another program is writing to it; try again")
	case sqlite3.SQLITE_FULL:
		return errors.New("the disk is full")
	}
	return err
}

// Close folds the write-ahead log into the file, so that the file is whole on
// its own, and closes it. Where another program still has the study open, that
// program does so when it closes.
func (s *DB) Close() error {
	_, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	if err := errors.Join(err, s.db.Close()); err != nil {
		return s.fault("close", err)
	}
	return nil
}

// Path returns the path the study was opened with.
func (s *DB) Path() string { return s.path }

// fault says what was being done when err happened.
func (s *DB) fault(doing string, err error) error {
	return fmt.Errorf("store: %s: %s: %w", s.path, doing, plain(err))
}
