package batch

import (
	"context"
	"slices"
	"strings"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// HipNamed returns the hip of a study by its ID or what it is called.
func HipNamed(ctx context.Context, st study.Store, ref string) (study.Hip, error) {
	hips, err := st.Hips(ctx)
	if err != nil {
		return study.Hip{}, err
	}
	i := slices.IndexFunc(hips, func(h study.Hip) bool { return h.ID == ref || strings.EqualFold(h.Label(), ref) })
	if i < 0 {
		return study.Hip{}, study.NewError("hip.none-named", study.Values{"Hip": ref})
	}
	return hips[i], nil
}

// Kept says what became of films that were to be kept in a study.
type Kept struct {
	Saved, There int               // films that are new to it, and those that it had
	Other        []string          // films of the other side by their file, which were not put to the hip
	Faults       map[string]string // why films could not be read, by their names
}

// KeepFilms keeps films in a study, and puts them to a hip unless it has no ID. Films of
// the other side by their file wait with those that are of no hip. Those that can be read
// are kept all or none. progress may be nil.
func KeepFilms(ctx context.Context, st study.Store, paths []string, hip study.Hip, by study.Stamp, progress func(done, total int)) (Kept, error) {
	files := source.Films(paths)
	films := make([]study.Film, len(files))
	err := parallel(ctx, len(files), progress, func(i int) {
		path := files[i].Path
		f, err := source.Open(path)
		if err != nil {
			files[i].Fault = source.Fault(path, err)
			return
		}
		films[i] = study.Film{Path: source.Whole(path), Facts: source.FactsOf(f)}
	})
	if err != nil {
		return Kept{}, err
	}
	k := Kept{Faults: map[string]string{}}
	for _, f := range files {
		if !f.Fault.IsZero() {
			k.Faults[f.Path] = study.NoteWords(f.Fault)
		}
	}
	films = slices.DeleteFunc(films, func(f study.Film) bool { return f.Path == "" })
	for _, f := range films {
		_, ok, err := st.FilmByPixels(ctx, f.Facts)
		switch {
		case err != nil:
			return k, err
		case ok:
			k.There++
		}
	}
	saved, err := st.AddFilms(ctx, films, by)
	if err != nil {
		return k, err
	}
	k.Saved = len(films) - k.There
	for i, f := range saved {
		switch side := films[i].Side(); {
		case hip.ID == "":
		case side != measure.SideUnknown && hip.Side != measure.SideUnknown && side != hip.Side:
			k.Other = append(k.Other, films[i].Path)
		default:
			if err := st.SaveLink(ctx, study.Link{HipID: hip.ID, FilmID: f.ID}, by); err != nil {
				return k, err
			}
		}
	}
	return k, nil
}
