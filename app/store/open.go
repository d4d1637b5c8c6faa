package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"linerwatch/app/study"
)

// DB is an open study file. It may be used by several goroutines, and several
// programs may have the same file open.
type DB struct {
	Tables

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

	readOnly bool   // nothing is written
	seen     seen   // the file when it was opened
	copy     string // of the file and its log, which is read in their place; empty where they are
	keeps    bool   // backups, one a day
	daily    daily
	opened   time.Time
	now      func() time.Time
}

var _ study.Store = (*DB)(nil)

// Open opens the study file at path. A file that is refused, as is an empty one, is not
// changed; a study of an earlier version of the program is brought to this one's form.
// Whether the whole file is sound is looked at in the background: see Check.
func Open(path string) (*DB, error) {
	return OpenTold(context.Background(), path, nil)
}

// OpenTold is Open that tells how far the change of a file of an earlier version has come,
// which takes half a minute and more for thousands of readings. Where ctx ends before it
// is done, the error is that of ctx, and the file is as it was.
func OpenTold(ctx context.Context, path string, tell study.Progress) (*DB, error) {
	s, err := open(ctx, path, tell, true)
	if err != nil && ctx.Err() != nil {
		err = ctx.Err() // SQLite's word for it is another
	}
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
	return wrapped(damaged(path, plain(err)), "store.refused", "File", filepath.Base(path))
}

func create(ctx context.Context, path string) (*DB, error) {
	if err := checkFolder(filepath.Dir(path)); err != nil {
		return nil, err
	}
	err := place(path, func(part string) (err error) {
		if err := makeEmpty(part); err != nil {
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
	return open(ctx, path, nil, true)
}

// open opens the file at path; of one of an earlier version it changes the form only where
// it may.
func open(ctx context.Context, path string, tell study.Progress, may bool) (_ *DB, err error) {
	if err := checkFile(path); err != nil {
		return nil, err
	}
	s := &DB{path: path, keeps: may, seen: seenOf(path), now: time.Now, opened: time.Now()}
	s.Tables = On(onFile{s})
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
	if err := s.upgrade(ctx, tell, may); err != nil {
		return nil, err
	}
	ctx = context.WithoutCancel(ctx) // what has been changed is opened
	if err := checkForm(ctx, s.db); err != nil {
		return nil, err
	}
	if s.look, err = connect(path); err != nil {
		return nil, err
	}
	// A connection made later could be to another file.
	if err := errors.Join(s.db.PingContext(ctx), s.look.PingContext(ctx)); err != nil {
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
		return refused("store.folder")
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
		return refused("store.no-folder")
	}
	if !info.IsDir() {
		return refused("store.not-folder", "Name", filepath.Base(dir))
	}
	return nil
}

// Path returns the path the study was opened with.
func (s *DB) Path() string { return s.path }

// Close folds the write-ahead log into the file, so that the file is whole on
// its own, and closes it. Where another program still has the study open, that
// program does so when it closes. The error is ErrMoved where the file is not at its
// place; it is then closed all the same.
func (s *DB) Close() error {
	s.check.end()
	if s.readOnly {
		return s.closeReadOnly()
	}
	s.comeBack(context.Background())
	s.writing.Lock()
	defer s.writing.Unlock()
	defer s.dropCopies()
	moved := s.still()
	if moved != nil && !s.left.Load() {
		return s.fault(named("store.close"), moved) // not closed: see leave
	}
	_, err := s.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	err = errors.Join(moved, err, s.disconnect())
	doing := named("store.close")
	switch {
	case s.left.Load() && s.kept.Load():
		_ = os.Remove(s.refuge) // is in the way of nobody
	case s.left.Load():
		doing = named("store.close-left", "Path", s.refuge)
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
