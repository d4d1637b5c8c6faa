package source

import (
	"strings"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// File is one file to look at, or the reason why there is none.
type File struct{ Path, Fault string }

// Expand replaces folders by the films in them.
func Expand(paths []string) []File {
	var out []File
	for _, p := range paths {
		files, err := dicomio.Expand([]string{p})
		switch {
		case err != nil:
			out = append(out, File{p, Fault(p, err)})
		case len(files) == 0:
			out = append(out, File{p, "the folder holds no film"})
		}
		for _, f := range files {
			out = append(out, File{Path: f})
		}
	}
	return out
}

// Fault returns the text of err without the path, which is told beside it.
func Fault(path string, err error) string {
	return strings.TrimPrefix(study.Plain(err), path+": ")
}
