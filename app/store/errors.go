package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"linerwatch/app/study"
)

// Why a file was refused; errors.Is finds them.
var (
	ErrNone     = errors.New("there is no such file")
	ErrEmpty    = fmt.Errorf("an empty file: %w", study.ErrNotStudy)
	ErrNewer    = errors.New("written by a newer version of the program")
	ErrReadOnly = errors.New("the file or its folder cannot be written")
	ErrExists   = errors.New("a file of this name exists already")
)

func isCode(err error, code int) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == code
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
		return study.ErrNotStudy
	case sqlite3.SQLITE_CORRUPT:
		return study.ErrDamaged
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM:
		return ErrReadOnly
	case sqlite3.SQLITE_BUSY:
		return errors.New("another program is writing to it; try again")
	case sqlite3.SQLITE_FULL:
		return errors.New("the disk is full")
	}
	return err
}

// fault says what was being done when err happened, the reason first. Of a study's own
// refusals the reason says it all.
func (s *DB) fault(doing string, err error) error {
	var conflict *study.ConflictError
	var double *study.DoubleError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &conflict):
		return conflict
	case errors.As(err, &double):
		return double
	}
	return fmt.Errorf("store: %w (%s: %s)", plain(err), filepath.Base(s.path), doing)
}
