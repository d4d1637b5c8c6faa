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
func (Folder) List(name string) ([]string, error) {
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return dicomio.FilmsIn(name)
	}
	return []string{name}, nil
}

// Open implements Source.
func (Folder) Open(film string, frame int) (*dicomio.Film, error) {
	return dicomio.OpenFrame(film, frame)
}
