package batch

import (
	"context"
	"errors"
	"image"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// DeidentifyOptions say where films without identity go and what is done.
type DeidentifyOptions struct {
	Key                 []byte            // secret; the same key gives the same codes and dates
	Out                 string            // an existing folder
	KeepCharacteristics bool              // sex, age, size and weight
	Black               []image.Rectangle // of every film, in its pixels as stored
	BlackIn             []BlackPart       // of one film each, beside those
	BlackText           bool              // what looks like text
	NoTextLeft          bool              // somebody has looked and states it of every film
}

// BlackPart is a part of one film to be made black, in its pixels as stored.
type BlackPart struct {
	Film string // its path or its file's name
	Part image.Rectangle
}

// CheckBlack refuses a part of a film that is not among those in paths, or that
// could be either of two.
func CheckBlack(paths []string, parts []BlackPart) error {
	if len(parts) == 0 {
		return nil
	}
	files := source.Expand(paths)
	for _, p := range parts {
		of := ""
		for _, f := range files {
			switch {
			case !f.Fault.IsZero() || !p.of(f.Path):
			case of == "" || sameFolder(of, f.Path):
				of = f.Path
			default:
				return study.NewError("black.several", study.Values{"Film": p.Film})
			}
		}
		if of == "" {
			return study.NewError("black.none", study.Values{"Film": p.Film})
		}
	}
	return nil
}

// of reports whether it is a part of the film at path.
func (p BlackPart) of(path string) bool {
	return p.Film == path || p.Film == filepath.Base(path) || sameFolder(p.Film, path)
}

// CheckDeidentifyOut refuses a folder for films without identity in which they
// would mix with the originals in paths: the folder of one of them, or a folder
// inside one of those that paths names. The folder need not exist.
func CheckDeidentifyOut(out string, paths []string) error {
	if info, err := os.Stat(out); err == nil && !info.IsDir() {
		return study.NewError("out.file", study.Values{"Out": out})
	}
	for _, p := range paths {
		info, err := os.Stat(p)
		switch {
		case err != nil: // told when it is opened
		case info.IsDir() && Inside(p, out):
			return study.NewError("out.inside", study.Values{"Out": out, "Folder": p})
		case !info.IsDir() && sameFolder(filepath.Dir(p), out):
			return study.NewError("out.original", study.Values{"Out": out, "Film": p})
		}
	}
	return nil
}

// Inside reports whether path is folder or in it. Neither need exist.
func Inside(folder, path string) bool {
	folder, path = resolved(folder), resolved(path)
	for ; ; path = filepath.Dir(path) {
		if path == folder || sameFolder(path, folder) {
			return true
		}
		if filepath.Dir(path) == path {
			return false
		}
	}
}

// resolved follows the links in as much of a path as exists.
func resolved(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	if real, err := filepath.EvalSymlinks(path); err == nil {
		return real
	}
	if filepath.Dir(path) == path {
		return path
	}
	return filepath.Join(resolved(filepath.Dir(path)), filepath.Base(path))
}

// sameFolder reports whether two paths lead to one folder, or to one file.
func sameFolder(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// Deidentify writes every film in paths into opt.Out without what tells who it
// is of, in order; folders stand for the films in them. A film that cannot be
// written is told by its Fault. No file is overwritten, and none is ever
// half-written. The only errors are those of the options and of ctx.
func Deidentify(ctx context.Context, paths []string, opt DeidentifyOptions, progress func(done, total int)) ([]study.Deidentified, error) {
	d, err := dicomio.NewDeidentifier(opt.Key)
	if err != nil {
		return nil, err
	}
	d.KeepCharacteristics, d.BlackText, d.NoTextLeft = opt.KeepCharacteristics, opt.BlackText, opt.NoTextLeft
	if err := CheckDeidentifyOut(opt.Out, paths); err != nil {
		return nil, err
	}
	if err := CheckBlack(paths, opt.BlackIn); err != nil {
		return nil, err
	}
	files := source.Expand(paths)
	out := make([]study.Deidentified, len(files))
	taken := names{by: map[string]string{}}
	err = parallel(ctx, len(files), progress, func(i int) {
		out[i] = study.Deidentified{Film: files[i].Path, Fault: files[i].Fault}
		if files[i].Fault.IsZero() {
			one := *d
			one.Black = opt.blackOf(files[i].Path)
			deidentify(&one, opt.Out, &out[i], &taken)
		}
	})
	return out, err
}

// blackOf are the parts of the film at path to be made black.
func (opt DeidentifyOptions) blackOf(path string) []image.Rectangle {
	out := slices.Clone(opt.Black)
	for _, p := range opt.BlackIn {
		if p.of(path) {
			out = append(out, p.Part)
		}
	}
	return out
}

// names tells which film has become which file.
type names struct {
	sync.Mutex
	by map[string]string
}

// deidentify writes one film under a temporary name, reads it back, and gives it
// its own name.
func deidentify(d *dicomio.Deidentifier, folder string, one *study.Deidentified, taken *names) {
	fail := func(err error) { one.Fault = source.Fault(one.Film, err) }
	if err := checkBlack(one.Film, d.Black); err != nil {
		fail(err)
		return
	}
	temp, err := os.MkdirTemp(folder, ".deidentify-*")
	if err != nil {
		fail(err)
		return
	}
	defer os.RemoveAll(temp) // what is left in it was told
	path := filepath.Join(temp, "film.dcm")
	done, err := d.File(one.Film, path)
	if err != nil {
		fail(err)
		return
	}
	f, err := dicomio.Open(path)
	if err != nil {
		fail(study.WrapError(err, "out.unreadable", study.Values{"Why": study.NoteOf(err)}))
		return
	}
	to := filepath.Join(folder, anonymousName(f))
	taken.Lock()
	defer taken.Unlock()
	if film, twice := taken.by[to]; twice {
		fail(study.NewError("out.same", study.Values{"Film": film, "To": to}))
		return
	}
	if _, err := os.Lstat(to); !errors.Is(err, fs.ErrNotExist) {
		fail(study.NewError("out.there", study.Values{"To": to}))
		return
	}
	if err := os.Rename(path, to); err != nil {
		fail(err)
		return
	}
	taken.by[to] = one.Film
	one.Of, one.Days = done.Patient, done.Days
	one.Written, one.Patient, one.Warnings = to, done.Code, source.Notes(slices.Concat(done.Warnings, f.Warnings))
}

// anonymousName is the name of a film without identity: its new code, its moved
// date and the beginning of the hash of its content.
func anonymousName(f *dicomio.Film) string {
	parts := []string{f.PatientCode}
	if !f.Date.IsZero() {
		parts = append(parts, f.Date.Format("20060102"))
	}
	return strings.Join(append(parts, f.SHA256[:8]), "-") + ".dcm"
}

// checkBlack refuses a rectangle that lies outside a film: what it was to hide is
// somewhere else.
func checkBlack(path string, black []image.Rectangle) error {
	if len(black) == 0 {
		return nil
	}
	f, err := dicomio.Inspect(path)
	if err != nil {
		return err
	}
	for _, r := range black {
		if !r.In(image.Rect(0, 0, f.Columns, f.Rows)) {
			return study.NewError("black.outside", study.Values{"X": float64(r.Min.X), "Y": float64(r.Min.Y),
				"Width": float64(r.Dx()), "Height": float64(r.Dy()), "Columns": float64(f.Columns), "Rows": float64(f.Rows)})
		}
	}
	return nil
}
