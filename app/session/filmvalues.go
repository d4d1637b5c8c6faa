package session

import (
	"context"
	"strings"

	"linerwatch/app/study"
)

// FilmForm is the form in which the study's own variables of a film are asked.
type FilmForm struct {
	Form
	Why  string // of a change of what was known
	film string // its ID
}

// FilmForm returns the form of a film, filled with what is known; it asks nothing where the
// study has no variable of films, or not the film yet.
func (s *Session) FilmForm(f *Film) (form FilmForm, err error) {
	st := s.book.store
	if st == nil || !f.saved {
		return form, nil
	}
	form.film = f.ID
	ctx := context.Background()
	known, err := st.Variables(ctx)
	if err != nil {
		return form, err
	}
	had, err := st.Values(ctx, study.OfFilm, f.ID)
	var list []Ask
	for _, v := range known {
		if v.Of == study.OfFilm {
			list = append(list, ofVariable(v, valueIn(had, v)))
		}
	}
	if len(list) > 0 {
		form.Blocks = []Block{{say("asked.of-film"), list}}
	}
	return form, err
}

// Read reads the form. The values are those that are others than they were.
func (f FilmForm) Read() (list []study.Value, faults []FormFault) {
	for _, a := range f.all() {
		v, why := a.value(f.film)
		switch {
		case !why.IsZero():
			faults = append(faults, FormFault{a.Field, study.NoteWords(why)})
		case v.Text != a.was:
			list = append(list, v)
		}
	}
	if f.corrects() && strings.TrimSpace(f.Why) == "" {
		faults = append(faults, FormFault{FieldWhy, say("asked.why-needed")})
	}
	return list, faults
}

// SetValues saves values of the study's own variables, with why they are changed.
func (b *Book) SetValues(list []study.Value, why string) error {
	if b.store == nil {
		return ErrNoStudy
	}
	if len(list) == 0 {
		return nil
	}
	return b.store.SetValues(context.Background(), list, b.s.because(why))
}
