package batch

import (
	"context"
	"slices"
	"strings"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
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
	Apart        []Apart           // films that were not put to the hip
	Contradicts  []study.Note      // what files say otherwise than the study's of the same pictures
	Faults       map[string]string // why films could not be read, by their names
}

// Apart is a film that was not put to a hip, since it is another's.
type Apart struct {
	Path string
	Kind study.Kind // whose it is, as a file of it says
	Hip  string     // label of the hip of another patient that it is of already, or ""
}

// KeepFilms keeps films in a study, and puts them to a hip unless it has no ID. Films of
// another patient or side, as a file of them says, and those that are of another patient's
// hip already, are not put to it: new ones wait with those that are of no hip. Those that
// can be read are kept all or none. progress may be nil.
func KeepFilms(ctx context.Context, st study.Store, paths []string, hip study.Hip, by study.Stamp, progress func(done, total int)) (Kept, error) {
	k := Kept{Faults: map[string]string{}}
	films, err := k.read(ctx, paths, by.At, progress)
	if err != nil {
		return Kept{}, err
	}
	for _, f := range films {
		had, ok, err := st.FilmByPixels(ctx, f.Facts)
		if err != nil {
			return k, err
		}
		if !ok {
			continue
		}
		k.There++
		if why := study.Contradiction(f, had); !why.IsZero() {
			k.Contradicts = append(k.Contradicts, why)
		}
	}
	saved, err := st.AddFilms(ctx, films, by)
	if err != nil {
		return k, err
	}
	k.Saved = len(films) - k.There
	if hip.ID == "" {
		return k, nil
	}
	hips, err := st.Hips(ctx)
	if err != nil {
		return k, err
	}
	for i, f := range saved {
		apart, err := another(ctx, st, hips, hip, films[i], f)
		switch {
		case err != nil:
			return k, err
		case apart != nil:
			k.Apart = append(k.Apart, *apart)
		default:
			if err := st.SaveLink(ctx, study.Link{HipID: hip.ID, FilmID: f.ID}, by); err != nil {
				return k, err
			}
		}
	}
	return k, nil
}

// read reads the films that paths name, and notes those that cannot be read.
func (k *Kept) read(ctx context.Context, paths []string, now time.Time, progress func(done, total int)) ([]study.Film, error) {
	files := source.Films(paths)
	films := make([]study.Film, len(files))
	err := parallel(ctx, len(files), progress, func(i int) {
		path := files[i].Path
		f, err := source.Open(path, now)
		if err != nil {
			files[i].Fault = source.Fault(path, err)
			return
		}
		films[i] = study.Film{Path: source.Whole(path), Facts: source.FactsOf(f)}
	})
	for _, f := range files {
		if !f.Fault.IsZero() {
			k.Faults[f.Path] = study.NoteWords(f.Fault)
		}
	}
	return slices.DeleteFunc(films, func(f study.Film) bool { return f.Path == "" }), err
}

// another returns why a film, which the study keeps as saved, is not put to a hip; nil
// where it may be.
func another(ctx context.Context, st study.Store, hips []study.Hip, hip study.Hip, film, saved study.Film) (*Apart, error) {
	for _, f := range []study.Film{film, saved} {
		if !hip.Kind().Fits(f.Kind()) {
			return &Apart{Path: film.Path, Kind: f.Kind()}, nil
		}
	}
	of, err := st.HipsOf(ctx, saved.ID)
	for _, h := range hips {
		if slices.Contains(of, h.ID) && h.ID != hip.ID && h.Patient != hip.Patient {
			return &Apart{Path: film.Path, Kind: film.Kind(), Hip: h.Label()}, nil
		}
	}
	return nil, err
}
