package source

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Entry is what a reader may choose in a folder.
type Entry struct {
	Name, Path string
	Folder     bool
	Study      bool  // a study file
	Table      bool  // a table, by its name
	Bytes      int64 // of a file
	Changed    time.Time
}

// IsTable reports whether a file is a table by its name.
func IsTable(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv", ".xlsx", ".tsv", ".txt":
		return true
	}
	return false
}

// Browse returns the folders in a folder, its study files, tables and the files in it that
// may be films, in this order and each by name. What is hidden and files of other
// kinds are left out. Once ctx is done it returns its error.
func Browse(ctx context.Context, folder string) (list []Entry, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	for _, e := range entries {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if strings.HasPrefix(e.Name(), ".") {
			continue
		}
		path := filepath.Join(folder, e.Name())
		info, err := os.Stat(path) // of what a link leads to
		if err != nil {
			continue // gone since, or a link that leads nowhere
		}
		in := Entry{Name: e.Name(), Path: path, Folder: info.IsDir(), Study: study.IsFile(path), Table: IsTable(path), Bytes: info.Size(), Changed: info.ModTime()}
		if in.Folder || in.Study || in.Table || dicomio.IsDICOMDIR(path) || dicomio.MayBeFilm(path) {
			list = append(list, in)
		}
	}
	rank := func(e Entry) int {
		switch {
		case e.Folder:
			return 0
		case e.Study:
			return 1
		case e.Table:
			return 2
		}
		return 3
	}
	slices.SortStableFunc(list, func(a, b Entry) int {
		if r := rank(a) - rank(b); r != 0 {
			return r
		}
		return dicomio.Natural(a.Name, b.Name)
	})
	return list, nil
}

// mostLooked is how many files Count looks at before it leaves the rest: a count is for
// the eye, and a reader may look at the root of a disk.
const mostLooked = 2000

// Count returns how many files in a folder, and in those within it, may be films;
// more where it did not look at all of them.
func Count(ctx context.Context, folder string) (films int, more bool) {
	looked := 0
	err := filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
		if looked++; looked > mostLooked || ctx.Err() != nil {
			return errLeft
		}
		hidden := strings.HasPrefix(e.Name(), ".") && path != folder
		switch {
		case e.IsDir() && (hidden || err != nil): // one that cannot be read holds nothing to open
			return fs.SkipDir
		case err != nil || e.IsDir() || hidden || study.IsFile(path):
			return nil
		case !dicomio.IsDICOMDIR(path) && dicomio.MayBeFilm(path) && !dicomio.PassedOver(path) && !dicomio.IsColour(path):
			films++
		}
		return nil
	})
	return films, errors.Is(err, errLeft)
}

// errLeft ends a walk before its end.
var errLeft = errors.New("source: not all was looked at")
