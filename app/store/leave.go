package store

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"os"

	"linerwatch/app/study"
)

// still returns ErrMoved unless the file that was opened is at its place, and the study
// in it.
func (s *DB) still() error {
	if !s.inPlace() || s.left.Load() {
		return study.ErrMoved
	}
	return nil
}

// inPlace reports whether the file that was opened is at its place.
func (s *DB) inPlace() bool {
	info, err := os.Stat(s.path)
	return err == nil && os.SameFile(info, s.file.info)
}

// main returns the connection for all but Records.
func (s *DB) main() *sql.DB {
	s.leaveMoved(context.Background())
	s.writing.RLock()
	defer s.writing.RUnlock()
	return s.db
}

// aside returns the connection for Records.
func (s *DB) aside() *sql.DB {
	s.leaveMoved(context.Background())
	s.writing.RLock()
	defer s.writing.RUnlock()
	return s.look
}

// leaveMoved goes on in a copy of its own where the file is not at its place any more:
// SQLite's log goes by the file's name, and would be shared with whatever file has that
// name now. Where no copy can be made the study stays with its file.
func (s *DB) leaveMoved(ctx context.Context) {
	if s.readOnly {
		return
	}
	if s.inPlace() {
		s.comeBack(ctx)
		return
	}
	s.writing.Lock()
	defer s.writing.Unlock()
	if s.left.Load() {
		return
	}
	refuge, err := s.flee(context.WithoutCancel(ctx))
	if err != nil {
		return
	}
	db, err := connect(refuge)
	if err != nil {
		return
	}
	look, err := connect(refuge)
	if err == nil {
		err = errors.Join(db.PingContext(ctx), look.PingContext(ctx))
	}
	if err != nil {
		return
	}
	// The old connections are not closed: that would fold the log of the file that has
	// the name now into this one.
	s.was = []*sql.DB{s.look, s.db}
	s.whole = !s.unfolded.Load()
	s.db, s.look, s.refuge = db, look, refuge
	s.left.Store(true)
}

// comeBack goes on in the file that was opened where that is at its place again and
// lacks nothing: all was folded into it before it went, and nothing was committed since.
func (s *DB) comeBack(ctx context.Context) {
	if !s.left.Load() || s.apart.Load() {
		return
	}
	s.writing.Lock()
	defer s.writing.Unlock()
	if !s.left.Load() || s.apart.Load() || !s.whole || !s.inPlace() || s.logged() {
		return
	}
	// The log that these know may not be the one that has its name now.
	for _, db := range s.was {
		if err := db.Close(); err != nil {
			return
		}
	}
	s.was = nil
	db, err := connect(s.path)
	if err != nil {
		return
	}
	look, err := connect(s.path)
	if err != nil {
		_ = db.Close() // the study stays where it is
		return
	}
	if err := errors.Join(db.PingContext(ctx), look.PingContext(ctx)); err != nil || !s.inPlace() {
		_ = errors.Join(db.Close(), look.Close())
		return
	}
	s.copies = append(s.copies, copied{[]*sql.DB{s.look, s.db}, s.refuge})
	s.db, s.look, s.refuge = db, look, ""
	s.left.Store(false)
}

// logged reports whether a log that is not empty lies beside the file: that of another
// program.
func (s *DB) logged() bool {
	info, err := os.Stat(s.path + "-wal")
	return err == nil && info.Size() > 0
}

// copied is a copy that was left for the file that came back; whoever reads from it still
// may do so.
type copied struct {
	open []*sql.DB
	path string
}

// dropCopies closes and removes the copies that were left.
func (s *DB) dropCopies() {
	for _, c := range s.copies {
		for _, db := range c.open {
			_ = db.Close() // holds nothing that the file lacks
		}
		for _, end := range []string{"", "-wal", "-shm"} {
			_ = os.Remove(c.path + end) // is in the way of nobody
		}
	}
	s.copies = nil
}

// flee writes the study to a new file in the folder for temporary files: the bytes of the
// file that was opened, which hold all that was committed, unless some of it could not be
// folded in.
func (s *DB) flee(ctx context.Context) (path string, err error) {
	f, err := os.CreateTemp("", "study-*.refuge")
	if err != nil {
		return "", err
	}
	path = f.Name()
	if !s.unfolded.Load() {
		size, err := s.file.size()
		if err == nil {
			_, err = io.Copy(f, io.NewSectionReader(s.file, 0, size))
		}
		return path, errors.Join(err, f.Close())
	}
	if err := errors.Join(f.Close(), os.Remove(path)); err != nil {
		return "", err
	}
	_, err = s.db.ExecContext(ctx, "VACUUM INTO ?", path)
	return path, err
}
