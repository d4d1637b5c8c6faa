package store

import (
	"os"
	"slices"
	"sync"
)

// held are the files of the studies that this process has open. Where one of a process's
// descriptors of a file is closed, POSIX gives up all of its locks on that file, SQLite's
// among them ("How To Corrupt An SQLite Database File", 2.2); so they are closed together,
// with the last study on the file. Locks are the process's, hence this is, too.
var held holders

type holders struct {
	lock  sync.Mutex
	files []*heldFile
}

// heldFile is one file, however often it is open.
type heldFile struct {
	info  os.FileInfo
	open  []*os.File
	users int
}

// hold opens the file at path until release.
func (h *holders) hold(path string) (*heldFile, error) {
	h.lock.Lock()
	defer h.lock.Unlock()
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err != nil {
		_ = f.Close() // the first error is the one to tell
		return nil, err
	}
	i := slices.IndexFunc(h.files, func(o *heldFile) bool { return os.SameFile(o.info, info) })
	if i < 0 {
		i = len(h.files)
		h.files = append(h.files, &heldFile{info: info})
	}
	o := h.files[i]
	o.open = append(o.open, f)
	o.users++
	return o, nil
}

// release ends a hold.
func (h *holders) release(f *heldFile) {
	h.lock.Lock()
	defer h.lock.Unlock()
	if f.users--; f.users > 0 {
		return
	}
	for _, o := range f.open {
		_ = o.Close() // was read only
	}
	h.files = slices.DeleteFunc(h.files, func(o *heldFile) bool { return o == f })
}

// ReadAt reads from the file, wherever it is now.
func (f *heldFile) ReadAt(b []byte, off int64) (int, error) { return f.open[0].ReadAt(b, off) }

// size returns the length of the file now.
func (f *heldFile) size() (int64, error) {
	info, err := f.open[0].Stat()
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}
