package store

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"
)

// Look opens the study file at path to be read. It is not brought to another form: one of
// an earlier version is refused with study.ErrEarlier. Where the file or its folder cannot
// be written, what would change it is refused with ErrReadOnly, and it is read all the same.
func Look(ctx context.Context, path string) (*DB, error) {
	s, err := open(ctx, path, nil, false)
	if errors.Is(plain(err), ErrReadOnly) {
		s, err = openReadOnly(ctx, path)
	}
	if err != nil && ctx.Err() != nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, refusal(path, err)
	}
	return s, nil
}

// seen is what is known of a file that is read and not written, to find that another
// program wrote it meanwhile.
type seen struct {
	size int64
	at   time.Time
}

func seenOf(path string) seen {
	info, err := os.Stat(path)
	if err != nil {
		return seen{}
	}
	return seen{info.Size(), info.ModTime()}
}

// openReadOnly opens a file that cannot be written. Without a log beside it, it is taken as
// one that nobody changes; what a log holds is read from a copy of both.
func openReadOnly(ctx context.Context, path string) (_ *DB, err error) {
	s := &DB{path: path, readOnly: true, seen: seenOf(path)}
	s.Tables = On(onFile{s})
	if s.file, err = held.hold(path); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			_ = errors.Join(s.disconnect(), s.dropCopy()) // the first error is the one to tell
		}
	}()
	if err := checkMagic(s.file); err != nil {
		return nil, err
	}
	if s.logged() {
		if s.copy, err = copyWithLog(s.file, path); err != nil {
			return nil, err
		}
	}
	if s.db, err = s.connect(); err != nil {
		return nil, err
	}
	version, err := studyVersion(ctx, s.db, len(migrations()))
	if err == nil && version < len(migrations()) {
		err = earlierVersion(version)
	}
	if err == nil {
		err = checkForm(ctx, s.db)
	}
	if err != nil {
		return nil, err
	}
	if s.look, err = s.connect(); err != nil {
		return nil, err
	}
	return s, s.begin()
}

// copyWithLog copies a file and its log, where it has one, to a folder of their own and
// returns the path of the file there.
func copyWithLog(f *heldFile, path string) (_ string, err error) {
	dir, err := os.MkdirTemp("", "study-*.copy")
	if err != nil {
		return "", err
	}
	to := filepath.Join(dir, "study")
	size, err := f.size()
	if err == nil {
		err = writeCopy(to, io.NewSectionReader(f, 0, size))
	}
	if err == nil {
		err = copyLog(path+"-wal", to+"-wal")
	}
	if err != nil {
		_ = os.RemoveAll(dir) // the first error is the one to tell
		return "", err
	}
	return to, nil
}

func copyLog(from, to string) error {
	in, err := os.Open(from)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer in.Close() // was read only
	return writeCopy(to, in)
}

func writeCopy(to string, in io.Reader) error {
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

func (s *DB) dropCopy() error {
	if s.copy == "" {
		return nil
	}
	return os.RemoveAll(filepath.Dir(s.copy))
}

// closeReadOnly closes a study that was only read. The error is ErrChanged where another program
// has changed the file since it was opened: what was read may be of two states of it.
func (s *DB) closeReadOnly() error {
	err := errors.Join(s.disconnect(), s.dropCopy())
	if s.copy == "" && s.inPlace() && seenOf(s.path) != s.seen {
		err = errors.Join(ErrChanged, err)
	}
	return s.fault(named("store.close"), err)
}

// asUnchanging are the settings of a connection to a file that nobody writes: SQLite then
// needs no files beside it.
func asUnchanging(q url.Values) {
	q.Set("mode", "ro")
	q.Set("immutable", "1")
}
