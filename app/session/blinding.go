package session

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// BlindingError is the error of opening a hip of a study whose lists the reader is still to
// read: it would end the blinding on those.
type BlindingError struct{ Lists []string }

// Error implements error.
func (e *BlindingError) Error() string { return study.NoteWords(e.note()) }

// Says implements study.Saying.
func (e *BlindingError) Says() study.Note { return e.note() }

func (e *BlindingError) note() study.Note {
	return study.Note{Code: "blind.would-end", Values: study.Values{"Lists": strings.Join(e.Lists, ", ")}}
}

// ErrWhoReads is the error of opening a hip where the study has lists to read and nobody has
// said who looks at it.
var ErrWhoReads = study.NewError("blind.who", nil)

// HiddenError is the error of looking at numbers of a study while lists are read blind.
type HiddenError struct {
	Lists []string // that are read
	Read  []string // of these, those that were read on this account: Book.ShowNumbers refuses
}

// Error implements error.
func (e *HiddenError) Error() string { return study.NoteWords(e.Says()) }

// Says implements study.Saying.
func (e *HiddenError) Says() study.Note {
	return study.Note{Code: "blind.hidden", Values: study.Values{"Lists": strings.Join(e.Lists, ", "), "Read": strings.Join(e.Read, ", ")}}
}

// Hidden returns why no number of the study, and no hip of it, may be shown to who sits here:
// lists are read blind, and nobody has said why to look (ShowNumbers). It is nil where all may be
// shown; else ErrWhoReads, a *BlindingError, a *HiddenError, or what kept the study from being
// read.
func (b *Book) Hidden() error {
	if b.store == nil || b.s.blind != nil {
		return nil
	}
	left, err := batch.Unfinished(context.Background(), b.store)
	if err != nil || len(left) == 0 {
		return err
	}
	if b.s.settings.Reader == "" {
		return ErrWhoReads
	}
	var mine []string
	var e HiddenError
	looked := true
	for _, l := range left {
		if l.Reader == b.s.settings.Reader {
			mine = append(mine, l.ID)
		}
		if slices.Contains(b.s.settings.Blind, markOf(l)) {
			e.Read = append(e.Read, l.ID)
		}
		e.Lists = append(e.Lists, l.ID)
		looked = looked && slices.Contains(b.looked, l.ID)
	}
	switch {
	case len(mine) > 0:
		return &BlindingError{mine}
	case looked && len(e.Read) == 0:
		return nil
	}
	return &e
}

// markOf is what is remembered of a list that was read on this account: by that it is known in
// whichever copy of the study, and nothing of the study is told.
func markOf(l study.List) string { return l.ID + " " + l.Made.At.UTC().Format(time.RFC3339Nano) }

// mostMarks is how many lists are remembered.
const mostMarks = 200

// markBlind remembers that a list is read on this account.
func (b *Book) markBlind(l study.List) error {
	all := b.s.settings.Blind
	if slices.Contains(all, markOf(l)) {
		return nil
	}
	all = append(slices.Clone(all), markOf(l))
	b.s.settings.Blind = all[max(0, len(all)-mostMarks):]
	return b.s.remember()
}

// NumbersHidden reports whether the numbers of the study are hidden, as it was when the study, its
// lists or who reads last changed.
func (b *Book) NumbersHidden() bool { return b.veiled }

// ListsFirst reports whether the study is shown by its lists, with no hip open.
func (b *Book) ListsFirst() bool { return isHidden(b.Hidden()) }

// isHidden reports whether an error of Hidden tells that numbers are hidden.
func isHidden(err error) bool {
	_, mine := errors.AsType[*BlindingError](err)
	_, hidden := errors.AsType[*HiddenError](err)
	return mine || hidden || errors.Is(err, ErrWhoReads)
}

// veil takes up whether numbers are hidden, as they are where that cannot be told.
func (b *Book) veil() {
	if was := b.veiled; b.store != nil {
		if b.veiled = b.Hidden() != nil; b.veiled != was {
			b.s.overview.forget() // at once: what was read is not to be seen any more, or only now
			b.s.changed(StudyChanged | OverviewChanged)
		}
	}
}

// cover puts the hip away that is open, where numbers are hidden. What was drawn is kept as a
// draft.
func (b *Book) cover() error {
	b.veil()
	if b.store == nil || !b.ListsFirst() || !b.s.hipKnown && len(b.s.strip.films) == 0 {
		return nil
	}
	if err := b.s.drafts.Keep(); err != nil {
		return err
	}
	b.s.intake.leave()
	b.s.clear()
	b.s.history.forget() // its steps name films and dates
	b.s.changed(Everything)
	return nil
}

// ShowNumbers shows the numbers of the study while lists are read blind, and adds to the trail who
// did it, when and why. The error is that of Hidden where the reader has a list, or one was read
// on this account.
func (b *Book) ShowNumbers(why string) error {
	err := b.Hidden()
	hidden, is := errors.AsType[*HiddenError](err)
	switch {
	case !is || len(hidden.Read) > 0:
		return err
	case strings.TrimSpace(why) == "":
		return study.NewError("blind.no-why-look", nil)
	}
	by := b.s.stamp()
	by.Why = strings.TrimSpace(why)
	d := study.Disclosure{Kind: study.ShownNumbers, Lists: hidden.Lists, Stamp: by}
	if err := b.store.AddDisclosure(context.Background(), d); err != nil {
		return err
	}
	b.looked = hidden.Lists
	b.veil()
	b.s.changed(Everything)
	return nil
}

// Disclose adds to the trail that numbers were written from this window: always where they are
// handed out of a hip, else while lists are read blind.
func (b *Book) Disclose(kind study.DisclosureKind, hipID string) error {
	if b.store == nil {
		return nil
	}
	d := study.Disclosure{Kind: kind, HipID: hipID, Stamp: b.s.stamp()}
	left, err := batch.Unfinished(context.Background(), b.store)
	for _, l := range left {
		d.Lists = append(d.Lists, l.ID)
	}
	if err != nil || len(left) == 0 && kind != study.PatientPage && kind != study.ReaderReport {
		return err
	}
	return b.store.AddDisclosure(context.Background(), d)
}

// Uncover ends the reader's blinding on every list of theirs, since a hip is going to be
// opened. The lists are closed by it.
func (b *Book) Uncover(lists []string) error {
	for _, id := range lists {
		err := b.Unblind(id, study.NoteWords(study.Note{Code: "blind.opened-hip"}))
		if err != nil && !errors.Is(err, study.ErrListClosed) {
			return err
		}
	}
	return nil
}
