package session

import (
	"context"
	"encoding/json"

	"linerwatch/app/study"
)

// keepDraft keeps the outlines of the place that is read, where they have changed and are not
// accepted. What is kept names the list and the place alone.
func (l *Blind) keepDraft() error {
	f := l.s.strip.selected
	if !l.unkept || l.place == 0 || f == nil {
		return nil
	}
	if !f.changed {
		return l.dropDraft()
	}
	outlines, err := json.Marshal(f.Draft)
	if err != nil {
		return err
	}
	err = l.study.book.store.SaveListDraft(context.Background(), study.ListDraft{ListID: l.list.ID, Place: l.place,
		At: l.s.cfg.Now().UTC(), Version: l.s.cfg.Version, Outlines: outlines})
	l.unkept = l.unkept && err != nil
	return err
}

// dropDraft drops what is kept of the place.
func (l *Blind) dropDraft() error {
	l.unkept = false
	return l.study.book.store.DropListDraft(context.Background(), l.list.ID, l.place)
}

// loadDraft shows what is kept of the place on its film. Where that cannot be read, the film is
// shown without it.
func (l *Blind) loadDraft(f *Film) error {
	kept, ok, err := l.study.book.store.ListDraft(context.Background(), l.list.ID, l.place)
	if err != nil || !ok {
		return err
	}
	var draft *Draft
	if err := json.Unmarshal(kept.Outlines, &draft); err != nil {
		return study.WrapError(err, "blind.draft-unreadable", study.Values{"Why": study.NoteOf(err)})
	}
	if draft != nil {
		f.Draft, f.changed = draft, true
	}
	return nil
}
