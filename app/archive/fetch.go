package archive

import (
	"bufio"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// FilmFolder is the folder of films fetched for the study in a file: beside that.
func FilmFolder(studyFile string) string {
	return strings.TrimSuffix(studyFile, filepath.Ext(studyFile)) + "-films"
}

// Fetch fetches the films of series into a folder, which is made where there is none, and
// returns what became of each, in the order of the series. Those that the folder has are
// not fetched again. told may be nil; it is called with how many there are of how many, and
// the file of each film that has come, "" at first. Where the error is not nil it is that of the
// archive or of the folder, and the films that have come are kept.
func (a *Archive) Fetch(ctx context.Context, dir string, series []study.Series, told func(done, total int, film string)) ([]study.Fetched, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, err
	}
	there, err := filmsThere(dir)
	if err != nil {
		return nil, err
	}
	f := &fetching{dir: dir, at: map[string]int{}, told: told}
	var missing []instance
	for _, s := range series {
		list, err := a.instances(ctx, s)
		if err != nil {
			return nil, err
		}
		for _, i := range list {
			if _, twice := f.at[i.uid]; twice {
				continue
			}
			f.at[i.uid] = len(f.films)
			path := there[i.uid]
			f.films = append(f.films, study.Fetched{Instance: i.uid, Path: path, Here: path != ""})
			if path == "" {
				missing = append(missing, i)
			}
		}
	}
	f.done = len(f.films) - len(missing)
	f.tell("")
	if len(missing) > 0 {
		err = a.fetch(ctx, missing, f.take, f.refused)
	}
	if f.fault != nil {
		err = f.fault
	}
	for i := range f.films {
		if one := &f.films[i]; one.Path == "" && one.Fault == "" {
			one.Fault = study.NoteWords(study.Note{Code: "archive.not-come"})
		}
	}
	return f.films, err
}

// fetching is one run of Fetch.
type fetching struct {
	dir   string
	films []study.Fetched
	at    map[string]int // films by their instance UIDs
	done  int
	told  func(done, total int, film string)
	fault error // of the folder
}

func (f *fetching) tell(film string) {
	if f.told != nil {
		f.told(f.done, len(f.films), film)
	}
}

func (f *fetching) refused(uid string, err error) { f.films[f.at[uid]].Fault = study.Told(err) }

// take keeps a film under another name until it is known to be whole.
func (f *fetching) take(file io.Reader) (done func() error, err error) {
	tmp := filepath.Join(f.dir, unfinished+rand.Text())
	out, err := os.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666) // as the folder's others may read it
	if err != nil {
		f.fault = err
		return nil, err
	}
	hash := sha256.New()
	w := bufio.NewWriterSize(out, 1<<16)
	_, err = io.Copy(io.MultiWriter(w, hash), file)
	if full := errors.Join(w.Flush(), out.Sync(), out.Close()); full != nil {
		f.fault, err = full, full
	}
	if err != nil {
		os.Remove(tmp) // it has no film
		return nil, err
	}
	return func() error { return f.name(tmp, hex.EncodeToString(hash.Sum(nil))) }, nil
}

// errOtherFilm is the error of a film that was not asked for.
var errOtherFilm = study.NewError("archive.other-film", nil)

// name gives a film that is whole its own name. One that was not asked for is dropped.
func (f *fetching) name(tmp, sum string) error {
	o, _, err := dicomio.ObjectOf(tmp)
	i, asked := f.at[o.Instance]
	if err != nil || !asked || f.films[i].Path != "" {
		os.Remove(tmp) // it has no film that is wanted
		if err == nil && !asked {
			err = errOtherFilm
		}
		return err
	}
	path := filepath.Join(f.dir, sum+filmExt)
	if err := os.Rename(tmp, path); err != nil {
		os.Remove(tmp)
		f.fault = err
		return err
	}
	f.films[i] = study.Fetched{Instance: o.Instance, Path: path}
	f.done++
	f.tell(path)
	return nil
}

const (
	unfinished = ".fetch-"
	filmExt    = ".dcm"
	stale      = 24 * time.Hour // after which nobody is writing a film any more
)

// filmsThere returns the films in a folder that are named by their content, by their
// instance UIDs. What a run that was killed has left is removed.
func filmsThere(dir string) (map[string]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		if strings.HasPrefix(e.Name(), unfinished) {
			removeStale(e, path)
			continue
		}
		name, ok := strings.CutSuffix(e.Name(), filmExt)
		if _, err := hex.DecodeString(name); !ok || len(name) != 2*sha256.Size || err != nil {
			continue
		}
		if o, _, err := dicomio.ObjectOf(path); err == nil {
			out[o.Instance] = path
		}
	}
	return out, nil
}

func removeStale(e fs.DirEntry, path string) {
	if info, err := e.Info(); err == nil && time.Since(info.ModTime()) > stale {
		os.Remove(path) // else the next run does
	}
}
