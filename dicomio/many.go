package dicomio

import (
	"cmp"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
)

// OpenAll opens films in parallel. films[i] or errs[i] is set for paths[i].
// progress may be nil; it is called with the number done, from one goroutine at
// a time. Once ctx is done the films not yet begun get its error.
func OpenAll(ctx context.Context, paths []string, progress func(done int)) (films []*Film, errs []error) {
	return each(ctx, paths, Open, progress)
}

// InspectAll reads what files say of their films, without the pixels, as
// OpenAll does.
func InspectAll(ctx context.Context, paths []string, progress func(done int)) (films []*Film, errs []error) {
	return each(ctx, paths, Inspect, progress)
}

// each reads films by as many goroutines as there are processors.
func each(ctx context.Context, paths []string, read func(string) (*Film, error), progress func(done int)) (films []*Film, errs []error) {
	films, errs = make([]*Film, len(paths)), make([]error, len(paths))
	next := make(chan int)
	var (
		wait sync.WaitGroup
		lock sync.Mutex
		done int
	)
	for range min(len(paths), runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := range next {
				if err := ctx.Err(); err != nil {
					errs[i] = named(paths[i], err)
				} else {
					films[i], errs[i] = read(paths[i])
				}
				lock.Lock()
				if done++; progress != nil {
					progress(done)
				}
				lock.Unlock()
			}
		})
	}
	for i := range paths {
		next <- i
	}
	close(next)
	wait.Wait()
	return films, errs
}

// Expand replaces folders by the files in them that may be films, in name
// order, numbers by their value; folders in folders too. Hidden files, DICOMDIR
// and files of other kinds by their first bytes are passed over. A DICOMDIR
// named is replaced by the images it lists, any other file is kept as it is. A
// folder without any such file is an error.
func Expand(paths []string) ([]string, error) {
	var out []string
	for _, path := range paths {
		info, err := os.Stat(path)
		if err != nil {
			return nil, named(path, err)
		}
		found := []string{path}
		switch {
		case info.IsDir():
			found, err = FilmsIn(path)
		case IsDICOMDIR(path):
			found, err = FilmsListed(path)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, found...)
	}
	return out, nil
}

// FilmsIn returns the files in a folder that may be films, as Expand does.
func FilmsIn(folder string) ([]string, error) {
	films, _, err := Survey(folder)
	return films, err
}

// Survey is FilmsIn, and tells of the other DICOM files in the folder what they are and
// how many of each kind. Of a file no more is read than the header.
func Survey(folder string) (films []string, passed []*Fault, err error) {
	var found []string
	err = filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		hidden := strings.HasPrefix(e.Name(), ".") && path != folder
		switch {
		case e.IsDir() && hidden:
			return fs.SkipDir
		case e.IsDir() || hidden || IsDICOMDIR(path):
			return nil
		}
		found = append(found, path)
		return nil
	})
	if err != nil {
		return nil, nil, named(folder, err)
	}
	slices.SortStableFunc(found, Natural)
	films, passed = sorted(found)
	if len(films) == 0 {
		return nil, passed, named(folder, noneFound(passed, refused("read.no-films", "no films in this folder")))
	}
	return films, passed, nil
}

// noneFound is none where nothing else was found either, and else says how much was.
func noneFound(passed []*Fault, none *Fault) error {
	if len(passed) == 0 {
		return none
	}
	return refused("read.none-of-hips", "%v, but %v", "Why", none, "First", passed[0])
}

// MayBeFilm looks at the first bytes of a file. One that cannot be read may be
// a film: opening it will say what is wrong.
func MayBeFilm(path string) bool {
	info, err := os.Stat(path)
	if err != nil {
		return true
	}
	if !info.Mode().IsRegular() {
		return false
	}
	format, err := sniffed(path)
	if err != nil {
		return true
	}
	switch format {
	case "DICOM", "PNG", "TIFF", "JPEG", "JPEG 2000", "BMP":
		return true
	}
	return filmName(path)
}

// PassedOver reports whether a file is a picture, or belongs to one, that a folder is
// not asked for: see Survey.
func PassedOver(path string) bool {
	k, _ := kindOf(path)
	return k.code != ""
}

// sniffed is sniff of a file.
func sniffed(path string) (format string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close() // only read from
	b := make([]byte, 256)
	n, _ := f.Read(b)
	return sniff(b[:n]), nil
}

// filmName reports whether the name claims a film, so that a broken one is not
// passed over in silence.
func filmName(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".dcm", ".dicom", ".png", ".tif", ".tiff", ".jpg", ".jpeg", ".jp2", ".j2k", ".bmp":
		return true
	}
	return false
}

// Natural compares two names, runs of digits by their value.
func Natural(a, b string) int {
	full := cmp.Compare(a, b)
	for a != "" && b != "" {
		i, j := digits(a), digits(b)
		if i > 0 && j > 0 {
			x, y := strings.TrimLeft(a[:i], "0"), strings.TrimLeft(b[:j], "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(x, y)); c != 0 {
				return c
			}
			a, b = a[i:], b[j:]
			continue
		}
		if c := cmp.Compare(a[0], b[0]); c != 0 {
			return c
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Or(cmp.Compare(len(a), len(b)), full)
}

// digits returns the length of the run of digits that s begins with.
func digits(s string) (n int) {
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
