package source

import (
	"errors"
	"image"
	"io/fs"
	"slices"
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Source is a kind of place where films lie. A name is what a reader types, drops or
// chooses; it stands for the films of a series or for a single one. The name of a film
// is what a study keeps as its Path.
type Source interface {
	// Place reports whether a name is one of this source's, and what it is called from
	// any working folder.
	Place(name string) (whole string, ok bool)
	// List returns the names of the films that a name stands for, in the order in which
	// they are shown. None is an error.
	List(name string) ([]string, error)
	// Open opens one frame of a film, counted from 1, as its file holds it.
	Open(film string, frame int) (*dicomio.Film, error)
}

// sources are those that there are. A name is of the first that has it; the last has
// every name.
var sources = []Source{
	Directory{},
	Folder{},
}

// of returns the source of a name.
func of(name string) Source {
	return sources[slices.IndexFunc(sources, func(s Source) bool { _, ok := s.Place(name); return ok })]
}

// Whole returns what a name is called from any working folder.
func Whole(name string) string {
	whole, _ := of(name).Place(name)
	return whole
}

// File is one film to look at, or the reason why there is none.
type File struct {
	Path  string
	Fault study.Note
}

// Expand replaces names that stand for several films by the names of those.
func Expand(names []string) []File {
	out, _ := Sort(names)
	return out
}

// sorter is a Source that tells what it passes over besides the films, by kind.
type sorter interface {
	Sort(name string) (films []string, passed []*dicomio.Fault, err error)
}

// Sort is Expand, and tells what was passed over among what names stand for.
func Sort(names []string) (out []File, passed []study.Note) {
	for _, name := range names {
		s := of(name)
		films, others, err := []string(nil), []*dicomio.Fault(nil), error(nil)
		if sorts, ok := s.(sorter); ok {
			films, others, err = sorts.Sort(name)
		} else {
			films, err = s.List(name)
		}
		if err != nil {
			out = append(out, File{name, Fault(name, err)})
		}
		for _, film := range films {
			out = append(out, File{Path: film})
		}
		for _, o := range others {
			passed = append(passed, study.NoteOf(o))
		}
	}
	return out, passed
}

// Results takes those of files out that are results of this program, and says how many.
func Results(files []File) (rest []File, passed []study.Note) {
	for _, file := range files {
		if file.Fault.IsZero() && dicomio.IsResult(FileOf(file.Path)) {
			continue
		}
		rest = append(rest, file)
	}
	if n := len(files) - len(rest); n > 0 {
		passed = []study.Note{{Code: "passed.own", Values: study.Values{"N": float64(n)}}}
	}
	return rest, passed
}

// Fault returns what is said of err without the name of its film, which is told beside it.
func Fault(name string, err error) study.Note {
	if e, ok := errors.AsType[*dicomio.FileError](err); ok {
		err = e.Err
	}
	if p, ok := errors.AsType[*fs.PathError](err); ok && p.Path == name {
		err = p.Err
	}
	return study.NoteOf(err)
}

// Frame opens one frame of a film, counted from 1, as its file holds it.
// Dates that are yet to come at now are left out; a zero now leaves all of them.
func Frame(film string, frame int, now time.Time) (*dicomio.Film, error) {
	f, err := of(film).Open(film, frame)
	if err == nil && !now.IsZero() {
		f.NotAfter(now)
	}
	return f, err
}

// Open opens a film as Frame does and makes it ready.
func Open(film string, now time.Time) (*dicomio.Film, error) {
	f, err := Frame(film, 1, now)
	if err != nil {
		return nil, err
	}
	return Ready(f)
}

// OpenBlack opens a film as Open does, with parts of its picture, in pixels as its file holds
// them, made black. What tells the picture from others is that of the whole one.
func OpenBlack(film string, now time.Time, parts []image.Rectangle) (*dicomio.Film, error) {
	f, err := Frame(film, 1, now)
	if err != nil {
		return nil, err
	}
	f.Key = f.PixelKey()
	for _, r := range parts {
		f.BlackOut(r)
	}
	return Ready(f)
}
