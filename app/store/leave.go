package store

import (
	"context"
	"database/sql"
	"errors"
	"io"
	"os"

	"linerwatch/app/study"
)

// still returns ErrMoved unless the file that was opened is at its place.
func (s *DB) still() error {
	if info, err := os.Stat(s.path); err != nil || !os.SameFile(info, s.file.info) {
		return study.ErrMoved
	}
	return nil
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
	if s.still() == nil {
		return
	}
	s.writing.Lock()
	defer s.writing.Unlock()
	if s.left {
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
	s.db, s.look, s.left, s.refuge = db, look, true, refuge
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
