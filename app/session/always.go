package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"

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
		if err == nil && faults == nil {
			return false
		}
		if err == nil {
			b.keepLast(last)
			b.s.Say("What is read is kept in %s: %s", path, study.Plain(errors.Join(faults...)))
			return true
		}
		faults = append(faults, err)
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
	if filepath.Ext(path) == "" {
		path += study.FileExt
	}
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		if b.s.cfg.Studies.Create == nil {
			return errors.New("session: no store is set up")
		}
		st, err := b.s.cfg.Studies.Create(path)
		if err != nil {
			return err
		}
		if err := st.Close(); err != nil {
			return err
		}
	}
	return b.Open(path)
}

// learnDemo asks the open study whether it is a demo: films of patients are not added to
// one.
func (b *Book) learnDemo() (err error) {
	b.demo, err = batch.IsDemo(context.Background(), b.store)
	return err
}

// Beside returns the row of the table of hips that is n below that of the open hip, or
// above it for a negative n. Where the filters leave that hip out, or none is open, it is
// the first row, or the last.
func (o *Overview) Beside(n int) (row study.Summary, ok bool) {
	rows := o.Rows()
	i := slices.IndexFunc(rows, func(r study.Summary) bool { return o.s.hipKnown && r.Hip.ID == o.s.hip.ID })
	switch {
	case i >= 0:
		i += n
	case n > 0:
		i = n - 1
	default:
		i = len(rows) + n
	}
	if i < 0 || i >= len(rows) {
		return row, false
	}
	return rows[i], true
}

// Next returns the first row below that of the open hip, and then from the top, whose
// films wait for a reader.
func (o *Overview) Next() (row study.Summary, ok bool) {
	rows := o.Rows()
	at := slices.IndexFunc(rows, func(r study.Summary) bool { return o.s.hipKnown && r.Hip.ID == o.s.hip.ID })
	for k := range rows {
		r := rows[(at+1+k)%len(rows)]
		if r.State != study.HipDone && r.Unread > 0 && r.Hip.ID != o.s.hip.ID {
			return r, true
		}
	}
	return row, false
}

// States counts the hips of each state, before filters.
func (o *Overview) States() map[study.HipState]int {
	n := map[study.HipState]int{}
	for _, r := range o.all {
		n[r.State]++
	}
	for _, p := range o.piles {
		n[p.summary().State]++
	}
	return n
}
