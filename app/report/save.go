package report

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// Over says whether SaveFile may write over a file that exists.
type Over bool

// The two ways to write a file.
const (
	KeepOld Over = false // a file that exists is left alone, with an error
	Replace Over = true
)

// SaveFile writes a file through a temporary name in the same folder, so that path is
// never half-written. The error of a file that is not to be written over is
// fs.ErrExist.
func SaveFile(path string, over Over, write func(io.Writer) error) (err error) {
	if _, err := os.Lstat(path); err == nil && over == KeepOld {
		return exists(path)
	}
	var f *os.File
	left, err := fresh(path, func(name string) (err error) {
		f, err = os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666) // less what the system takes away
		return err
	})
	if err != nil {
		return err
	}
	defer func() {
		if left != "" {
			err = errors.Join(err, os.Remove(left))
		}
	}()
	if err := write(f); err != nil {
		return errors.Join(err, f.Close())
	}
	if err := f.Close(); err != nil {
		return err
	}
	if over == KeepOld { // claim the name: another may have come meanwhile
		claim, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
		if errors.Is(err, fs.ErrExist) {
			return exists(path)
		}
		if err := errors.Join(err, claim.Close()); err != nil {
			return err
		}
	}
	if err := os.Rename(left, path); err != nil {
		return err
	}
	left = ""
	return nil
}

func exists(path string) error {
	return fmt.Errorf("%s is not written over: %w", filepath.Base(path), fs.ErrExist)
}
