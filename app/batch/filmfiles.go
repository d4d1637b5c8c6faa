package batch

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
)

// FileState says how the file of a film stands against what a study keeps of it.
type FileState string

// The states of a file.
const (
	FileSame    FileState = "same"
	FileChanged FileState = "changed"
	FileAbsent  FileState = "absent"
	FileUnknown FileState = "not known" // the study has no hash of it
)

// HashOf returns the SHA-256 of a file, hexadecimal.
func HashOf(path string) (sum string, err error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// CompareFile compares the file of a film with what the study keeps of it. Of a film that is one
// of several in its file, the picture is compared.
func CompareFile(f study.Film) (FileState, error) {
	switch {
	case Lacks(f):
		return FileAbsent, nil
	case f.Facts.SHA256 == "":
		return FileUnknown, nil
	}
	sum, err := HashOf(source.FileOf(f.Path))
	if source.FileOf(f.Path) != f.Path {
		film, ferr := source.Open(f.Path, time.Time{})
		if ferr != nil {
			return FileChanged, nil // there was a film
		}
		sum = film.SHA256
	}
	switch {
	case err != nil:
		return "", err
	case sum == f.Facts.SHA256:
		return FileSame, nil
	}
	return FileChanged, nil
}

// AllFilms returns every film of a study once, those of hips first.
func AllFilms(ctx context.Context, st study.Store) ([]study.Film, error) {
	var out []study.Film
	seen := map[string]bool{}
	err := st.Records(ctx, func(r study.Record) error {
		for _, f := range r.Films {
			if !seen[f.ID] {
				seen[f.ID] = true
				out = append(out, f)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	rest, err := st.Unsorted(ctx)
	return append(out, rest...), err
}
