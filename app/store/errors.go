package store

import (
	"errors"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"linerwatch/app/study"
)

// Why a file was refused; errors.Is finds them.
var (
	ErrNone     = study.NewError("store.none", nil)
	ErrEmpty    = wrapped(study.ErrNotStudy, "store.empty")
	ErrNewer    = study.NewError("store.newer", nil)
	ErrReadOnly = study.ErrReadOnly
	ErrChanged  = study.NewError("store.changed", nil)
	ErrExists   = study.NewError("store.exists", nil)
)

// named returns the note of a code and its values, each after its name.
func named(code string, values ...any) study.Note {
	n := study.Note{Code: code, Values: study.Values{}}
	for i := 0; i+1 < len(values); i += 2 {
		n.Values[values[i].(string)] = values[i+1]
	}
	return n
}

// refused is the error that is told by the note of a code and its values.
func refused(code string, values ...any) error {
	return &study.NoteError{Note: named(code, values...)}
}

// wrapped is refused of an error, which is its Why.
func wrapped(err error, code string, values ...any) error {
	return &study.NoteError{Note: named(code, append(values, "Why", study.NoteOf(err))...), Err: err}
}

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
		return study.ErrBusy
	case sqlite3.SQLITE_FULL:
		return refused("store.full")
	case sqlite3.SQLITE_IOERR:
		return wrapped(err, "store.disk")
	}
	return err
}

// fault says what was being done when err happened, the reason first.
func (s *DB) fault(doing study.Note, err error) error {
	return FaultOf(filepath.Base(s.path), doing, err, plain)
}

// FaultOf says what was being done to a study of a name when err happened, the reason first,
// in the words of plain. Of a study's own refusals the reason says it all.
func FaultOf(name string, doing study.Note, err error, plain func(error) error) error {
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
	return wrapped(plain(err), "store.fault", "File", name, "Doing", doing)
}

// Named returns the note of a code and its values, each after its name.
func Named(code string, values ...any) study.Note { return named(code, values...) }

// Refused is the error that is told by the note of a code and its values.
func Refused(code string, values ...any) error { return refused(code, values...) }

// Wrapped is Refused of an error, which is its Why.
func Wrapped(err error, code string, values ...any) error { return wrapped(err, code, values...) }
