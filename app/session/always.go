package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// DefaultStudyPath returns the place of the study that films go to where the reader has
// opened none: in the user's own folder. It is "" where there is no such folder.
func DefaultStudyPath() string {
	home, err := os.UserHomeDir()
	if err != nil {
		return ""
	}
	return filepath.Join(home, "Linerwatch", "study"+study.FileExt)
}

// Last returns the study that was open last and is no demo, or "".
func (b *Book) Last() string { return b.s.settings.Study }

// ready makes sure that a study is open that films may be added to: the one that is, else
// the last one, else the user's own, else one beside the films. Where none can be had it
// says why, and the films are kept by this window alone. It reports whether it said anything.
func (b *Book) ready(films []string) (said bool) {
	if b.s.cfg.StudyPath == "" || b.store != nil && !b.demo || len(films) == 0 {
		return false
	}
	last := b.Last()
	places := []string{last, b.s.cfg.StudyPath, filepath.Join(filepath.Dir(films[0]), "study"+study.FileExt)}
	var faults []error
	for i, path := range places {
		if _, err := os.Stat(path); path == "" || i == 0 && err != nil {
			continue // it has gone: the next one is the reader's
		}
		err := os.MkdirAll(filepath.Dir(path), 0o700)
		if err == nil {
			err = b.begin(path)
		}
		switch {
		case err != nil:
			faults = append(faults, err)
			continue
		case faults == nil:
			return false
		}
		b.keepLast(last)
		b.s.Say("What is read is kept in %s: %s", path, study.Plain(errors.Join(faults...)))
		return true
	}
	b.s.Say("No study can be kept, so nothing that is read is saved before you choose a file: %s", study.Plain(errors.Join(faults...)))
	return true
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
	if b.store != nil {
		if err := b.s.drafts.Flush(); err != nil {
			return err
		}
		b.s.clear()
		b.s.history.forget()
		b.s.intake.forget()
	}
	return b.Create(path)
}

// New makes a study, where there is none at path, and opens it.
func (b *Book) New(path string) error {
	path = withExt(path)
	st, err := batch.OpenOrCreate(path, b.s.cfg.Studies)
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
