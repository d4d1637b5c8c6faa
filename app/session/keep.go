package session

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// stamp says who changes something now.
func (s *Session) stamp() study.Stamp {
	return study.Stamp{Reader: s.settings.Reader, At: s.cfg.Now().UTC(), Version: s.cfg.Version}
}

// because is the stamp with a reason.
func (s *Session) because(why string) study.Stamp {
	by := s.stamp()
	by.Why = strings.TrimSpace(why)
	return by
}

// putFilm makes a film one of a hip of st and returns it as st has it: a picture that
// st knows is that film, wherever its file is now.
func (b *Book) putFilm(ctx context.Context, st study.Store, hipID string, f study.Film) (study.Film, error) {
	was, known, err := st.FilmByPixels(ctx, f.Facts)
	if err != nil {
		return f, err
	}
	if known && f.Path != was.Path && !study.Contradiction(f, was).IsZero() {
		f.Path, f.Facts = was.Path, was.Facts // until a reader settles it
	}
	if f.ID, f.Revision = was.ID, was.Revision; f.Given == (study.Given{}) {
		f.Given = was.Given
	}
	if !known || !reflect.DeepEqual(f, was) {
		if f, err = resave(ctx, st, f, b.s.stamp()); err != nil {
			return f, b.clash(err)
		}
	}
	links, err := st.Links(ctx, hipID)
	if err != nil || slices.ContainsFunc(links, func(l study.Link) bool { return l.FilmID == f.ID }) {
		return f, err
	}
	return f, st.SaveLink(ctx, study.Link{HipID: hipID, FilmID: f.ID}, b.s.stamp())
}

// dropFilm takes a film from a hip of st, which forgets it where no other hip has it. One
// that a reading or an exclusion rests on stays.
func dropFilm(ctx context.Context, st study.Store, hipID, filmID string, by study.Stamp) error {
	if err := st.DropLink(ctx, hipID, filmID, by); err != nil {
		return err
	}
	left, err := st.Unsorted(ctx)
	if err != nil || !slices.ContainsFunc(left, func(f study.Film) bool { return f.ID == filmID }) {
		return err
	}
	return st.DropFilm(ctx, filmID, by)
}

// saveFilm keeps f as a film of this hip.
func (b *Book) saveFilm(ctx context.Context, f *Film) error {
	if f.Facts.SHA256 == "" {
		return study.NewError("keep.unread", study.Values{"Film": f.Name()})
	}
	film, err := b.savedFilm(ctx, f)
	if err != nil {
		return err
	}
	if f.changed {
		b.s.drafts.keep(f)
	}
	return b.took(f, film)
}

// took makes f the film that the study keeps it as. It may have another code from then on,
// which is the study's: what names it follows.
func (b *Book) took(f *Film, kept study.Film) error {
	was := f.ID
	f.Film, f.saved = kept, true
	if was == kept.ID {
		return nil
	}
	b.s.course.rename(was, kept.ID)
	if was == "" || b.s.hip.Baseline != was {
		return nil
	}
	h := b.s.hip
	h.Baseline = kept.ID
	return b.s.applyHip(h, true, "")
}

func (b *Book) savedFilm(ctx context.Context, f *Film) (study.Film, error) {
	if !f.saved {
		return b.putFilm(ctx, b.store, b.s.hip.ID, f.Film)
	}
	was, _, err := b.store.FilmByPixels(ctx, f.Facts)
	if err != nil || reflect.DeepEqual(was, f.Film) {
		return f.Film, err
	}
	film, err := resave(ctx, b.store, f.Film, b.s.stamp())
	return film, b.clash(err)
}

// resave saves a film. Where another window has saved it since, that is a conflict only
// of what readers told: what the file says and where it is are no one's decision.
func resave(ctx context.Context, st study.Store, f study.Film, by study.Stamp) (study.Film, error) {
	saved, err := st.SaveFilm(ctx, f, by)
	var c *study.ConflictError
	if errors.As(err, &c) {
		if theirs, ok := c.Theirs.(study.Film); ok && reflect.DeepEqual(theirs.Given, f.Given) {
			f.Revision = theirs.Revision
			return st.SaveFilm(ctx, f, by)
		}
		return f, err
	}
	return saved, err
}
