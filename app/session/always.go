package session

import (
	"context"
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
	if _, err := os.Stat(last); err == nil && last != places[0] { // one that has gone is not made anew
		places = slices.Insert(places, 0, last)
	}
	b.readyIn(places, last, nil, then)
}

// readyIn is ready with the places that are left to be tried; the faults are those of the
// places before.
func (b *Book) readyIn(places []string, last string, faults []error, then func(said bool)) {
	switch {
	case b.store != nil && !b.demo: // may have been opened meanwhile
		then(false)
		return
	case len(places) == 0:
		b.s.Say("No study can be kept, so nothing that is read is saved before you choose a file: %s", inOneLine(faults))
		then(true)
		return
	}
	path := places[0]
	b.adapt(path, func(err error) {
		if err == nil {
			err = b.begin(path)
		}
		if err != nil {
			b.readyIn(places[1:], last, append(faults, err), then)
			return
		}
		if faults != nil {
			b.keepLast(last)
			b.s.Say("What is read is kept in %s: %s", path, inOneLine(faults))
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
	if _, err := os.Stat(path); err != nil {
		return
	}
	b.s.settings.Study = path
	if err := saveSettings(b.s.cfg.SettingsPath, b.s.settings); err != nil {
		b.s.Say("The study opened last was not remembered: %v", err)
	}
}

// begin opens the study at path, or makes it, for films to be added. The hip of a demo is
// left; one that no study keeps yet is saved in this one.
func (b *Book) begin(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if b.store != nil {
		if err := b.s.drafts.Flush(); err != nil {
			return err
		}
		b.s.clear()
		b.s.history.forget()
		b.s.intake.forget()
	}
	return b.create(path)
}

// fresh makes a study, where there is none at path, and opens it.
func (b *Book) fresh(path string) error {
	path = withExt(path)
	if dir := filepath.Dir(path); dir == filepath.Dir(b.s.cfg.StudyPath) { // proposed before it is there
		if err := os.MkdirAll(dir, 0o700); err != nil {
			return err
		}
	}
	st, err := batch.OpenOrCreate(context.Background(), path, b.s.cfg.Studies)
	if err != nil {
		return err
	}
	return b.show(st, path)
}

// learnDemo asks the open study whether it is a demo: films of patients are not added to
// one.
func (b *Book) learnDemo() (err error) {
	b.demo, err = batch.IsDemo(context.Background(), b.store)
	return err
}
