package store

import (
	"context"
	"crypto/rand"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// SaveAs writes a whole, compact copy of the study to a new file at path, while
// the study stays open, wherever its own file may be. It refuses to replace a file. The
// copy appears under its name only when it is complete and on the disk.
func (s *DB) SaveAs(ctx context.Context, path string) error {
	if err := checkFolder(filepath.Dir(path)); err != nil {
		return s.fault(named("store.save-as", "File", filepath.Base(path)), err)
	}
	err := place(path, func(part string) error {
		return vacuumInto(ctx, s.main(), part)
	})
	if err != nil {
		return s.fault(named("store.save-as", "File", filepath.Base(path)), err)
	}
	s.kept.Store(true)
	return nil
}

// place lets write make a new file beside path and gives it that name once it is on the
// disk. No file is ever replaced.
func place(path string, write func(part string) error) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(err, ErrExists)
	}
	part := path + "." + rand.Text() + ".part"
	defer func() { _ = os.Remove(part) }() // may never have been there
	if err := write(part); err != nil {
		return err
	}
	if err := flush(part); err != nil {
		return err
	}
	switch err := os.Link(part, path); {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return ErrExists
	}
	return os.Rename(part, path) // a disk without links
}

func flush(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
