package batch

import (
	"context"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
)

// AllFacts returns the facts of every film in paths, in order, or of one frame, counted
// from 1, of each; 0 stands for each frame as a film of its own. Folders stand for the films in them. A film with the picture of an earlier one
// says so. Dates that are yet to come at now are left out. The only error is that of ctx.
func AllFacts(ctx context.Context, paths []string, frame int, now time.Time, progress func(done, total int)) ([]study.FileFacts, error) {
	files := source.Only(paths, frame)
	facts := make([]study.FileFacts, len(files))
	err := parallel(ctx, len(files), progress, func(i int) {
		facts[i] = study.FileFacts{Film: files[i].Path, Fault: files[i].Fault}
		if files[i].Fault.IsZero() {
			facts[i] = source.Facts(files[i].Path, 1, now)
		}
	})
	first := map[string]string{}
	for i := range facts {
		f := &facts[i]
		if f.PixelKey == "" {
			continue
		}
		if film, seen := first[f.PixelKey]; seen {
			f.DuplicateOf = film
		} else {
			first[f.PixelKey] = f.Film
		}
	}
	return facts, err
}

// Sort replaces folders by the names of the films in them, and tells what else is there,
// by kind. A name that stands for no film is left for the one who opens it to tell.
func Sort(paths []string) (films []string, passed []study.Note) {
	files, passed := source.Sort(paths)
	for _, f := range files {
		films = append(films, f.Path)
	}
	return films, passed
}
