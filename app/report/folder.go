package report

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// Folder is a folder of files that comes to its place as a whole or not at all. It is
// written under another name beside that place.
type Folder struct {
	path, temp string
}

// NewFolder begins a folder for path, which holds no files yet, or, with Replace, none but
// such as have names of ours, in place of which the new ones come. The error of a file that
// is not to be written over is fs.ErrExist in an *fs.PathError. Nothing is written where there is
// one.
func NewFolder(path string, over Over, ours []string) (*Folder, error) {
	if path == "" {
		return nil, errors.New("report: no folder")
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real // a link stays one
	}
	if err := MayReplace(path, over, ours); err != nil {
		return nil, err
	}
	path, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
		return nil, err
	}
	temp, err := fresh(path, func(name string) error { return os.Mkdir(name, 0o777) })
	return &Folder{path, temp}, err
}

// MayReplace refuses a folder as NewFolder does, and names the first file that is in the way.
func MayReplace(path string, over Over, ours []string) error {
	list, err := os.ReadDir(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	}
	for _, e := range list {
		full := filepath.Join(path, e.Name())
		if over == KeepOld {
			return &fs.PathError{Op: "write", Path: full, Err: fs.ErrExist}
		}
		if !e.Type().IsRegular() || !slices.Contains(ours, e.Name()) {
			return &ForeignError{full}
		}
	}
	return nil
}

// ForeignError is the error of a folder that is not replaced because of what it holds beside
// the files of an export.
type ForeignError struct{ Path string }

// Error implements error.
func (e *ForeignError) Error() string {
	return e.Path + " is no file of an export, and the folder is replaced as a whole"
}

// fresh makes something under a name of its own beside path.
func fresh(path string, make func(name string) error) (string, error) {
	for n := 1; ; n++ {
		name := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%d.new", filepath.Base(path), n))
		if err := make(name); !errors.Is(err, fs.ErrExist) {
			return name, err
		}
	}
}

// Create makes a file of the folder. It is on the disk once it is closed.
func (f *Folder) Create(name string) (io.WriteCloser, error) {
	file, err := os.OpenFile(filepath.Join(f.temp, name), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	return &synced{file}, err
}

type synced struct{ *os.File }

// Close writes the file through to the disk.
func (s *synced) Close() error { return errors.Join(s.Sync(), s.File.Close()) }

// Finish puts the folder in its place. What was there is away only once the new is there; on an
// error all is as it was.
func (f *Folder) Finish(over Over, ours []string) error {
	if err := MayReplace(f.path, over, ours); err != nil { // something may have come meanwhile
		return err
	}
	old := ""
	if _, err := os.Lstat(f.path); err == nil {
		if old, err = fresh(f.path+".old", func(name string) error { return os.Mkdir(name, 0o700) }); err != nil {
			return err
		}
		if err := errors.Join(os.Remove(old), os.Rename(f.path, old)); err != nil {
			return err
		}
	}
	if err := os.Rename(f.temp, f.path); err != nil {
		if old != "" {
			err = errors.Join(err, os.Rename(old, f.path))
		}
		return err
	}
	f.temp = ""
	if old != "" {
		return os.RemoveAll(old)
	}
	return nil
}

// Drop takes away what was written of a folder that was not finished.
func (f *Folder) Drop() error {
	if f.temp == "" {
		return nil
	}
	return os.RemoveAll(f.temp)
}
