package batch

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"linerwatch/app/source"
	"linerwatch/app/study"
)

// OpenExisting opens a study file that must be there, as f.Open does.
func OpenExisting(ctx context.Context, path string, f study.Files, tell study.Progress) (study.Store, error) {
	switch info, err := os.Stat(path); {
	case study.IsAddress(path):
	case errors.Is(err, os.ErrNotExist):
		return nil, study.NewError("file.none", study.Values{"Path": path})
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, study.NewError("file.folder", study.Values{"File": filepath.Base(path)})
	}
	if f.Open == nil {
		return nil, errNoStore
	}
	return f.Open(ctx, path, tell)
}

// Look opens a study file that must be there, as f.Look does.
func Look(ctx context.Context, path string, f study.Files) (study.Store, error) {
	if f.Look == nil {
		return OpenExisting(ctx, path, f, nil)
	}
	f.Open = func(ctx context.Context, path string, _ study.Progress) (study.Store, error) {
		return f.Look(ctx, path)
	}
	return OpenExisting(ctx, path, f, nil)
}

// Lacks reports whether the file of a film is not where it was last.
func Lacks(f study.Film) bool {
	if f.Path == "" {
		return true
	}
	_, err := os.Stat(source.FileOf(f.Path))
	return err != nil
}

// OpenOrCreate opens the study file at path, or creates it where there is none.
func OpenOrCreate(ctx context.Context, path string, f study.Files) (study.Store, error) {
	if f.Open == nil || f.Create == nil {
		return nil, errNoStore
	}
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) && !study.IsAddress(path) {
		st, err := f.Create(path)
		if err == nil {
			return st, nil
		}
		if _, there := os.Stat(path); there != nil {
			return nil, err
		} // else another window was quicker
	}
	return f.Open(ctx, path, nil)
}

var errNoStore = study.NewError("file.no-store", nil)

// countsKey is the setting of a study that says whose readings count.
const countsKey = "readings that count"

// CountsOf returns whose readings count in a study: a reader's code, or
// study.Anyone for the latest reading of each film.
func CountsOf(ctx context.Context, st study.Store) (string, error) {
	reader, _, err := st.Setting(ctx, countsKey)
	return reader, err
}

// gradesKey is the setting of a study that says whether a film is graded before its numbers are
// shown.
const gradesKey = "grades before numbers"

// GradesFirst reports whether a study asks for a film's quality before its numbers are shown;
// one that says nothing of it does not.
func GradesFirst(ctx context.Context, st study.Store) (bool, error) {
	value, _, err := st.Setting(ctx, gradesKey)
	return value == study.Yes, err
}

// SetGradesFirst keeps in a study whether it asks for that.
func SetGradesFirst(ctx context.Context, st study.Store, on bool, by study.Stamp) error {
	value := study.No
	if on {
		value = study.Yes
	}
	return st.SetSetting(ctx, gradesKey, value, by)
}

// SetCounts keeps in a study whose readings count.
func SetCounts(ctx context.Context, st study.Store, reader string, by study.Stamp) error {
	return st.SetSetting(ctx, countsKey, reader, by)
}
