package report

import (
	"errors"
	"io"
	"os"
	"path/filepath"
)

// SaveFile writes a file through a temporary name in the same folder, so that
// path is never half-written.
func SaveFile(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	if err := write(f); err != nil {
		return errors.Join(err, f.Close())
	}
	if err := f.Chmod(0o644); err != nil {
		return errors.Join(err, f.Close())
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
