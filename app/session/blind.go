package session

import (
	"context"
	"errors"
	"image"
	"slices"
	"sync"
	"time"

	"linerwatch/app/settings"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// Blind is a reading list while its reader reads it, in a session of its own that has no
// study and no settings file, and holds one film at a time without its name, date, patient
// and writing: what is not there is shown nowhere and written nowhere. What the reader
// accepts goes to the study of the session that opened the list.
type Blind struct {
	s      *Session // of the one film
	study  *Session // that has the study
	list   study.List
	done   study.Done
	aside  map[int]bool // places that are put off until the list is opened again
	place  int          // that is read; 0 where none is
	due    time.Time    // when the first of those that are left may be read; zero for at once
	hip    study.Hip
	film   study.Film
	grade  study.Grade
	unkept bool     // outlines have changed since they were kept
	known  sync.Map // study.Film by the name under which it is shown; the background opens them
}

// ErrNoGrade is the error of a reading of a film that is not graded yet, where it is to be.
var ErrNoGrade = study.NewError("blind.no-grade", nil)

// errGraded is the error of grading a film anew whose numbers have been seen.
var errGraded = study.NewError("blind.graded", nil)

// errBlindFile is the error of a film of a list whose file cannot be read; why would name it.
var errBlindFile = study.NewError("blind.no-file", nil)

// Blind returns the list that the session reads; nil where it reads none.
func (s *Session) Blind() *Blind { return s.blind }

// Lists returns the reading lists of the study, and how many places of each are done.
func (b *Book) Lists() (lists []study.List, done []int, err error) {
	if b.store == nil {
		return nil, nil, ErrNoStudy
	}
	ctx := context.Background()
	if lists, err = b.store.Lists(ctx); err != nil {
		return nil, nil, err
	}
	for _, l := range lists {
		d, err := b.store.ListDone(ctx, l.ID)
		if err != nil {
			return nil, nil, err
		}
		done = append(done, len(d))
	}
	return lists, done, nil
}

// Unblind ends the blinding of a list's reader, which closes the list.
func (b *Book) Unblind(listID, why string) error {
	if b.s.settings.Reader == "" {
		return ErrNoReader
	}
	by := b.s.stamp()
	by.Why = why
	if err := b.store.AddUnblinding(context.Background(), study.Unblinding{ListID: listID, Stamp: by}); err != nil {
		return err
	}
	b.veil()
	b.s.changed(StudyChanged)
	return nil
}

// ReadList returns a session that reads a list of this reader, from where it was left. It is
// to be closed, and EndList called then.
func (b *Book) ReadList(listID string) (*Session, error) {
	lists, _, err := b.Lists()
	if err != nil {
		return nil, err
	}
	i := slices.IndexFunc(lists, func(l study.List) bool { return l.ID == listID })
	switch {
	case b.s.settings.Reader == "":
		return nil, ErrNoReader
	case i < 0:
		return nil, study.ErrUnknown
	case lists[i].Reader != b.s.settings.Reader:
		return nil, study.NewError("blind.not-yours", study.Values{"Reader": lists[i].Reader})
	case lists[i].Opened != nil:
		return nil, study.ErrListClosed
	}
	if err := errors.Join(b.cover(), b.markBlind(lists[i])); err != nil {
		return nil, err
	}
	l := &Blind{study: b.s, list: lists[i], aside: map[int]bool{}}
	cfg := b.s.cfg
	cfg.SettingsPath, cfg.StudyPath, cfg.ArchivesPath, cfg.Leftovers, cfg.Studies = "", "", "", nil, study.Files{}
	cfg.Open = l.open
	if l.list.Start == study.StartBlank {
		cfg.Detect = func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error) {
			return nil, &measure.Refusal{Reason: study.Note{Code: "blind.blank"}}
		}
	}
	l.s = New(cfg)
	l.s.blind, l.s.settings = l, settings.Settings{Reader: b.s.settings.Reader, Light: b.s.settings.Light}
	if err := l.next(); err != nil {
		return nil, errors.Join(err, l.s.Close())
	}
	return l.s, nil
}

// EndList shows what was read of a list meanwhile.
func (b *Book) EndList() error {
	b.s.overview.outdatedAll()
	b.veil()
	if b.s.hipKnown && b.s.hip.ID != "" {
		return b.s.OpenHip(b.s.hip.ID)
	}
	b.s.changed(Everything)
	return nil
}

// List returns what is read. Its places are for nobody to see who reads it.
func (l *Blind) List() study.List { return l.list }

// Closed reports whether the list has been closed since it was opened.
func (l *Blind) Closed() bool {
	lists, err := l.study.book.store.Lists(context.Background())
	return err == nil && slices.ContainsFunc(lists, func(o study.List) bool { return o.ID == l.list.ID && o.Opened != nil })
}

// Progress returns how many places are done, of how many.
func (l *Blind) Progress() (done, of int) { return len(l.done), len(l.list.Places) }

// Over reports whether nothing is left that may be read now, and when more may; zero where
// nothing waits for a day, but may have been put off.
func (l *Blind) Over() (due time.Time, over bool) { return l.due, l.place == 0 }

// Place returns the number of the place that is read; 0 where none is.
func (l *Blind) Place() int { return l.place }

// PutOff returns how many places are put off until the list is opened again.
func (l *Blind) PutOff() int { return len(l.aside) }

// next shows the film of the place that is read next, or none where none is left.
func (l *Blind) next() (err error) {
	if err := l.keepDraft(); err != nil {
		return err
	}
	ctx := context.Background()
	if l.done, err = l.study.book.store.ListDone(ctx, l.list.ID); err != nil {
		return err
	}
	passed := study.Done{}
	for place, at := range l.done {
		passed[place] = at
	}
	for place := range l.aside {
		if _, read := passed[place]; !read {
			passed[place] = l.s.cfg.Now() // a repeat of it waits from now on
		}
	}
	l.place, l.due, _ = l.list.Next(passed, l.s.cfg.Now())
	l.s.clear()
	l.s.history.forget()
	l.grade = study.Grade{}
	if l.place == 0 {
		l.s.changed(Everything)
		return nil
	}
	return l.show(ctx, l.list.Places[l.place-1])
}

// show puts the film of a place into the strip, and of its hip what reading it takes.
func (l *Blind) show(ctx context.Context, p study.Place) error {
	hips, err := l.study.book.store.Hips(ctx)
	if err != nil {
		return err
	}
	films, err := l.study.book.store.Films(ctx, p.HipID)
	if err != nil {
		return err
	}
	h := slices.IndexFunc(hips, func(h study.Hip) bool { return h.ID == p.HipID })
	f := slices.IndexFunc(films, func(f study.Film) bool { return f.ID == p.FilmID })
	if h < 0 || f < 0 {
		return study.ErrUnknown
	}
	l.hip, l.film = hips[h], films[f]
	l.s.hip, l.s.hipKnown = l.masked(), true
	given := l.film.Given
	given.Date, given.Black = time.Time{}, ""
	shown := &Film{Film: study.Film{ID: l.name(), Path: l.name(), Given: given}, saved: true}
	shown.Facts.View = l.film.Facts.View
	l.known.Store(l.name(), l.film)
	if err := l.loadDraft(shown); err != nil {
		l.s.Say("%s", study.Told(err))
	}
	l.s.strip.put(shown)
	l.s.strip.show(0)
	l.s.work.need(shown)
	l.s.course.renew()
	l.s.changed(Everything)
	return nil
}

// masked is the hip with what a reading takes of it, and no more.
func (l *Blind) masked() study.Hip {
	m := l.hip.Implant
	return study.Hip{Side: l.hip.Side, BeamOff: l.hip.BeamOff,
		Implant: study.Implant{HeadMM: m.HeadMM, HeadMaterial: m.HeadMaterial, ShellMM: m.ShellMM, Fixation: m.Fixation}}
}

// name is what the film is called while it is read.
func (l *Blind) name() string { return say("blind.place", "N", l.place) }

// open opens the film that is read, whose name is that of its place. What its file says of
// the patient and of its making is left out, and what looks like text, or was marked, is black.
func (l *Blind) open(name string) (*dicomio.Film, error) {
	of, ok := l.known.Load(name)
	if !ok {
		return nil, errBlindFile
	}
	film := of.(study.Film)
	in, err := l.openBlack(film)
	if err != nil || !source.FactsOf(in).SamePicture(film.Facts) { // its words would name the file
		return nil, errBlindFile
	}
	return in.Blind(name), nil
}

// openBlack opens a film without the parts that were marked in it.
func (l *Blind) openBlack(film study.Film) (*dicomio.Film, error) {
	parts, err := film.Given.Black.Parts()
	switch {
	case err != nil:
		return nil, err
	case len(parts) == 0:
		return l.study.cfg.Open(film.Path)
	}
	return l.study.cfg.OpenBlack(film.Path, parts)
}
