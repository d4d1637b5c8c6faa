package session

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"linerwatch/app/study"
)

// copied is a film that the study has, of which another file was opened.
type copied struct {
	study.Film
	hip  string     // ID of the hip that it is of; "" where it waits
	file study.Film // as the other file has it
}

// copyOf notes that a file was opened that is a copy of f, a film of a hip.
func (w *Work) copyOf(f *Film, hip string, file study.Film) {
	w.joined.copies = append(w.joined.copies, copied{f.Film, hip, file})
	w.compare(file, f.Film)
}

// had reports whether f, whose file was just read, is a film that the study has of another
// hip than the one that is read, or that waits. It is then out of the strip: a copy makes
// no second film. Where the study's own file has gone, that of f is its file from now on.
func (w *Work) had(f *Film, facts study.Facts) bool {
	if f.saved || f.Facts.SHA256 != "" || w.s.book.store == nil {
		return false
	}
	had, known, err := w.s.book.hipsOf(facts)
	if err != nil {
		w.s.Say("%s", study.Told(err))
		return false // it is said where the film is saved
	}
	film := f.Film
	film.Facts = facts
	in := &w.s.intake
	at := in.index(facts)
	if at < 0 && known && had.hip == "" && had.Film.Waits != study.Unreadable { // of another window
		in.films = append(in.films, had.Film)
		at = len(in.films) - 1
	}
	switch {
	case at >= 0: // it waits, in the study or to be saved there
		had.Film = in.films[at]
		if in.fits(film) && study.Contradiction(film, had.Film).IsZero() {
			in.films = slices.Delete(in.films, at, at+1)
			return false
		}
	case !known || had.hip == "":
		return false
	case in.otherSide(had.hip, film):
		w.compare(film, had.Film)
		return false
	}
	had.file = film
	w.compare(film, had.Film)
	if gone(had.Path) && had.Path != f.Path {
		w.moved(had.Film, f.Path)
	} else {
		w.joined.copies = append(w.joined.copies, had)
	}
	if had.hip != "" {
		if w.joined.hips == nil {
			w.joined.hips = map[string]int{}
		}
		w.joined.hips[had.hip]++
	}
	w.outOf(f)
	return true
}

// hipsOf returns the film of the study that has a file's picture, with the first hip that
// it is of.
func (b *Book) hipsOf(file study.Facts) (c copied, known bool, err error) {
	ctx := context.Background()
	if c.Film, known, err = b.store.FilmByPixels(ctx, file); err != nil || !known {
		return c, known, err
	}
	hips, err := b.store.HipsOf(ctx, c.ID)
	if len(hips) > 0 {
		c.hip = hips[0]
	}
	return c, known, err
}

// moved keeps where the file of a film is now that is not in the strip.
func (w *Work) moved(was study.Film, path string) {
	now := was
	now.Path = path
	if was.Revision > 0 {
		var err error
		if now, err = resave(context.Background(), w.s.book.store, now, w.s.stamp()); err != nil {
			w.s.Say("%s", study.Told(w.s.book.clash(err)))
			return
		}
	}
	for i, g := range w.s.intake.films {
		if g.Facts.SamePicture(was.Facts) {
			w.s.intake.films[i] = now
		}
	}
	w.joined.found++
}

// fits reports whether a film may be one of the hip that is read, or of the one that is
// still to be told.
func (in *Intake) fits(f study.Film) bool {
	return !in.s.hipKnown || f.Facts.Patient != "" && in.s.hip.Kind().Fits(f.Kind())
}

// otherSide reports whether a film of the study's hip may be one of the hip that is read,
// too: both are of one patient, and the film shows either side.
func (in *Intake) otherSide(hip string, f study.Film) bool {
	if !in.s.hipKnown || !in.fits(f) {
		return false
	}
	i := slices.IndexFunc(in.s.book.hips, func(h study.Hip) bool { return h.ID == hip })
	return i >= 0 && hip != in.s.hip.ID && in.s.book.hips[i].Patient == in.s.hip.Patient
}

// openKnown opens the hip of the study that most of the files opened are of, where none of
// them is new.
func (in *Intake) openKnown() {
	count := in.s.work.joined.hips
	if len(count) == 0 || len(in.s.strip.films) > 0 {
		return
	}
	ids := slices.Sorted(maps.Keys(count))
	most := slices.MaxFunc(ids, func(a, b string) int { return cmp.Compare(count[a], count[b]) })
	if err := in.s.OpenHip(most); err != nil {
		in.s.Say("%s", study.Told(err))
	}
}
