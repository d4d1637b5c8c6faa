package source

import (
	"os"
	"path/filepath"

	"linerwatch/dicomio"
)

// Folder is a folder, with those in it, or a single file. Every name may be one.
type Folder struct{}

// Place implements Source.
func (Folder) Place(name string) (whole string, ok bool) {
	if abs, err := filepath.Abs(name); err == nil {
		return abs, true
	}
	return name, true
}

// List implements Source. Films are in the order of their names, numbers by their value.
func (f Folder) List(name string) ([]string, error) {
	films, _, err := f.Sort(name)
	return films, err
}

// Sort is List, and tells what else is in a folder. A file that is named is a film.
func (Folder) Sort(name string) (films []string, passed []*dicomio.Fault, err error) {
	info, err := os.Stat(FileOf(name))
	switch {
	case err != nil:
		return nil, nil, err
	case info.IsDir():
		return dicomio.Survey(name)
	}
	return []string{name}, nil, nil
}

// Open implements Source. The name of a film may be FILE#N, its frame N; since the file is
// that of other films too, SHA256 is then the hash of the picture alone.
func (Folder) Open(film string, frame int) (*dicomio.Film, error) {
	file, n := framed(film)
	if n == 0 {
		return dicomio.OpenFrame(film, frame)
	}
	f, err := dicomio.OpenFrame(file, n)
	if err != nil {
		return nil, err
	}
	f.Path, f.Key = film, f.PixelKey()
	f.SHA256 = f.Key
	return f, nil
}
