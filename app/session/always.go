package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// DefaultStudyPath returns the place of the study that films go to where the reader has
// opened none: in the user's own folder, or in the working folder where there is none.
func DefaultStudyPath() string {
	home, err := os.UserHomeDir()
	if err != nil {
		home = "."
	}
	return filepath.Join(home, "Linerwatch", "study"+study.FileExt)
}

// Last returns the study that was open last and is no demo, or "".
func (b *Book) Last() string { return b.s.settings.Study }

// ready makes sure that a study is open that films may be added to, and then calls then:
// the one that is open, else the last one, else the user's own, else one beside the films.
// Where none can be had it says why, and the films are in this window alone. Said reports
// whether it said anything.
func (b *Book) ready(films []string, then func(said bool)) {
	if b.s.cfg.StudyPath == "" || len(films) == 0 {
		then(false)
		return
	}
	places := []string{b.s.cfg.StudyPath, filepath.Join(filepath.Dir(films[0]), "study"+study.FileExt)}
	last := b.Last()
	if there(last) && last != places[0] { // one that has gone is not made anew
		places = slices.Insert(places, 0, last)
	}
	b.readyIn(places, last, nil, then)
}

// readyIn is ready with the places that are left to be tried; the faults are those of the
// places before.
func (b *Book) readyIn(places []string, last string, faults []error, then func(said bool)) {
	switch {
	case b.Opening(): // films go to that one
		b.later = append(b.later, func() { b.readyIn(places, last, faults, then) })
		return
	case b.store != nil && !b.demo: // may have been opened meanwhile
		then(false)
		return
	case len(places) == 0:
		b.s.Say("%s", say("book.none-kept", "Why", inOneLine(faults)))
		then(true)
		return
	}
	path := places[0]
	b.bring(path, b.making(path, true), b.begin, func(err error) {
		if errors.Is(err, errOpen) {
			then(false)
			return
		}
		if err != nil {
			b.readyIn(places[1:], last, append(faults, err), then)
			return
		}
		if faults != nil {
			b.keepLast(last)
			b.s.Say("%s", say("book.kept-in", "Path", path, "Why", inOneLine(faults)))
		}
		then(faults != nil)
	})
}

// inOneLine says why several places could not be had.
func inOneLine(faults []error) string {
	var out []string
	for _, err := range faults {
		out = append(out, study.Told(err))
	}
	return strings.Join(out, "; ")
}

// keepLast remembers a study as the one that was open last, though another had to be
// opened: it may be to be had again.
func (b *Book) keepLast(path string) {
	if !there(path) {
		return
	}
	b.s.settings.Study = path
	if err := b.s.remember(); err != nil {
		b.s.Say("%s", say("book.last-not-kept", "Why", study.Told(err)))
	}
}

// errOpen is the error of a study that is not needed, since another was opened meanwhile.
var errOpen = study.NewError("book.one-open", nil)

// begin takes an opened study for films to be added. The hip of a demo is left; one that no
// study keeps yet is saved in this one.
func (b *Book) begin(o arrived, path string) error {
	if b.store != nil && !b.demo {
		return errors.Join(errOpen, o.Close())
	}
	if b.store != nil {
		if err := b.s.drafts.Keep(); err != nil {
			return errors.Join(err, o.Close())
		}
		b.s.clear()
		b.s.history.forget()
		b.s.intake.forget()
	}
	return b.keepIn(o, path)
}

// learnDemo asks the open study whether it is a demo: films of patients are not added to
// one.
func (b *Book) learnDemo() (err error) {
	b.demo, err = batch.IsDemo(context.Background(), b.store)
	return err
}
