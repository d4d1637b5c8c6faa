package session

import (
	"context"
	"errors"
	"strings"

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

// blinded returns why no hip of the study may be shown to who reads; nil where any may.
func (b *Book) blinded() error {
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
	for _, l := range left {
		if l.Reader == b.s.settings.Reader {
			mine = append(mine, l.ID)
		}
	}
	if len(mine) > 0 {
		return &BlindingError{mine}
	}
	return nil
}

// ListsFirst reports whether the study is shown by its lists, with no hip open: its reader has
// one to read, or nobody has said who reads.
func (b *Book) ListsFirst() bool {
	var mine *BlindingError
	err := b.blinded()
	return errors.As(err, &mine) || errors.Is(err, ErrWhoReads)
}

// cover puts the hip away that is open, where the reader is to be blind to it. What was drawn
// is kept as a draft.
func (b *Book) cover() error {
	if !b.s.hipKnown || b.s.hip.ID == "" || !b.ListsFirst() {
		return nil
	}
	if err := b.s.drafts.Keep(); err != nil {
		return err
	}
	b.s.intake.leave()
	b.s.clear()
	b.s.changed(Everything)
	return nil
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
