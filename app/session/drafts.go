package session

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"time"

	"linerwatch/app/study"
)

// draftDelay is the time from a change to its being on disk, less the writing.
const draftDelay = 400 * time.Millisecond

// Drafts are the outlines that a reader has changed and not accepted, as they are kept
// on disk, in the open study. Where none can be had they are in this window alone.
type Drafts struct {
	s *Session

	waiting bool                 // a save is to come
	dirty   map[*Film]bool       // films whose draft on disk is not that on the screen
	noted   map[*Film]bool       // films that are on disk as open
	found   map[*Film]bool       // films of which the study is to know how the search ended
	own     map[string]time.Time // when the draft was kept that this window took or wrote, by film
}

// Drafts returns how changed outlines are kept.
func (s *Session) Drafts() *Drafts { return &s.drafts }

// kept reports whether changed outlines outlive the program.
func (d *Drafts) kept() bool {
	return d.s.book.store != nil
}

// keep notes that the draft of f has changed and saves it soon.
func (d *Drafts) keep(f *Film) {
	if d.s.blind != nil {
		d.s.blind.unkept = true
		d.soon()
		return
	}
	if !d.kept() || f == nil {
		return
	}
	if d.dirty == nil {
		d.dirty = map[*Film]bool{}
	}
	d.dirty[f] = true
	d.soon()
}

// searched has the study keep how the search on f ended: what the program proposes, or why
// there is nothing, or why the file cannot be read.
func (d *Drafts) searched(f *Film) {
	if d.s.book.store == nil {
		return
	}
	if d.found == nil {
		d.found = map[*Film]bool{}
	}
	d.found[f] = true
	d.soon()
}

// soon saves what waits to be saved.
func (d *Drafts) soon() {
	if !d.waiting {
		d.waiting = true
		d.s.work.queue.After(draftDelay, d.saveDue)
	}
}

func (d *Drafts) saveDue() {
	d.waiting = false
	if err := d.Flush(); err != nil {
		d.s.Say("%s", say("draft.not-saved", "Why", study.Told(err)))
	}
}

// Flush writes to disk what waits to be saved, and which films are open.
func (d *Drafts) Flush() error {
	if d.s.blind != nil {
		return d.s.blind.keepDraft()
	}
	if !d.s.hipKnown || !d.kept() {
		return nil
	}
	if err := d.noteOpen(); err != nil {
		return err
	}
	var elsewhere error // does not keep other drafts from being saved
	for f := range d.dirty {
		if d.s.strip.index(f) >= 0 {
			err := d.save(f)
			if errors.Is(err, errDraftElsewhere) {
				elsewhere = errors.Join(elsewhere, err)
				continue
			}
			if err != nil {
				return err
			}
		}
		delete(d.dirty, f)
	}
	for f := range d.found {
		if d.s.strip.index(f) >= 0 && f.saved {
			if err := d.saveFound(f); err != nil {
				return err
			}
		}
		delete(d.found, f)
	}
	return elsewhere
}

// Keep has every draft on disk, also one that another window has dropped there.
func (d *Drafts) Keep() error {
	if d.s.blind != nil {
		return d.s.blind.keepDraft()
	}
	if !d.s.hipKnown || !d.kept() {
		return nil
	}
	list, err := d.s.book.store.Drafts(context.Background(), d.s.hip.ID)
	if err != nil {
		return err
	}
	for _, f := range d.s.strip.films {
		if f.changed && !slices.ContainsFunc(list, func(k study.Draft) bool { return k.FilmID == f.ID && d.ownOf(k) }) {
			d.keep(f)
		}
	}
	return d.Flush()
}

// saveFound keeps in the study how the search for the hip on f ended.
func (d *Drafts) saveFound(f *Film) error {
	ctx, st, hipID := context.Background(), d.s.book.store, d.s.hip.ID
	l := study.Link{HipID: hipID, FilmID: f.ID}
	switch {
	case f.step == Failed:
		l.Searched, l.Reason = study.Failed, f.Reason
	case f.proposal != nil:
		l.Searched = study.Measured
	case f.step == Refused:
		l.Searched, l.Reason = study.Refused, f.Reason
	}
	if err := st.SaveLink(ctx, l, d.s.stamp()); err != nil {
		return err
	}
	d.s.overview.outdated(hipID)
	if f.step == Failed {
		return nil // what was found before stays
	}
	if f.proposal == nil || f.Accepted != nil {
		return st.DropDraft(ctx, hipID, f.ID, study.Proposed)
	}
	return d.put(f.ID, study.Proposed, f.proposal.proposed(study.NewProvenance(d.s.cfg.Version, d.s.hip, f.Film)))
}

// save keeps in the study how the outlines of f stand.
func (d *Drafts) save(f *Film) error {
	ctx, st, hipID := context.Background(), d.s.book.store, d.s.hip.ID
	d.s.overview.outdated(hipID)
	if !f.saved {
		film, err := d.s.book.putFilm(ctx, st, hipID, f.Film)
		if err != nil {
			return err
		}
		if err := d.s.book.took(f, film); err != nil {
			return err
		}
	}
	if f.Accepted != nil { // what was proposed has been read
		if err := st.DropDraft(ctx, hipID, f.ID, study.Proposed); err != nil {
			return err
		}
	}
	elsewhere, err := d.elsewhere(f.ID)
	switch {
	case err != nil:
		return err
	case !f.changed && elsewhere:
		return nil
	case !f.changed:
		delete(d.own, f.ID)
		return st.DropDraft(ctx, hipID, f.ID, study.Edited)
	case elsewhere:
		return study.WrapError(errDraftElsewhere, "draft.elsewhere", study.Values{"Film": d.s.strip.label(f)})
	}
	return d.put(f.ID, study.Edited, f.Draft)
}

// errDraftElsewhere is the error of a draft whose place in the study is another window's.
var errDraftElsewhere = study.NewError("draft.second", nil)

// elsewhere reports whether the study keeps a reader's draft of a film of the open hip
// that this window has neither taken nor written.
func (d *Drafts) elsewhere(filmID string) (bool, error) {
	list, err := d.s.book.store.Drafts(context.Background(), d.s.hip.ID)
	return slices.ContainsFunc(list, func(k study.Draft) bool {
		return k.FilmID == filmID && k.Kind == study.Edited && !d.ownOf(k)
	}), err
}

// ownOf reports whether a draft on disk is one that this window has taken or written.
func (d *Drafts) ownOf(k study.Draft) bool {
	at, ok := d.own[k.FilmID]
	return ok && k.Kind == study.Edited && k.At.Equal(at)
}

// put keeps outlines in the study as a draft of a kind.
func (d *Drafts) put(filmID string, kind study.DraftKind, of any) error {
	outlines, err := json.Marshal(of)
	if err != nil {
		return err
	}
	at := d.s.cfg.Now()
	err = d.s.book.store.SaveDraft(context.Background(), study.Draft{HipID: d.s.hip.ID, FilmID: filmID, Kind: kind,
		At: at, Version: d.s.cfg.Version, Outlines: outlines})
	if err == nil && kind == study.Edited {
		d.took(filmID, at)
	}
	return err
}

// took notes that the draft of a film that was kept then is this window's.
func (d *Drafts) took(filmID string, at time.Time) {
	if d.own == nil {
		d.own = map[string]time.Time{}
	}
	d.own[filmID] = at
}

// noteOpen keeps which films are open that the study does not know yet.
func (d *Drafts) noteOpen() error {
	if d.noted == nil {
		d.noted = map[*Film]bool{}
	}
	for _, f := range d.s.strip.films {
		if d.noted[f] || f.Facts.SHA256 == "" || f.saved || d.dirty[f] {
			continue
		}
		if err := d.save(f); err != nil {
			return err
		}
		d.noted[f] = true
	}
	return nil
}

// unnote lets f be noted as open again where it still is then.
func (d *Drafts) unnote(f *Film) { delete(d.noted, f) }

// load shows the unfinished work that the study keeps of the open hip.
func (d *Drafts) load() error {
	list, err := d.s.book.store.Drafts(context.Background(), d.s.hip.ID)
	if err == nil {
		err = d.show(list)
	}
	return err
}

// show shows a reader's drafts on their films.
func (d *Drafts) show(list []study.Draft) error {
	var faults []error
	for _, kept := range list {
		f := d.s.strip.ByID(kept.FilmID)
		if f == nil || kept.Kind != study.Edited {
			continue
		}
		d.took(f.ID, kept.At)
		var draft *Draft
		if err := json.Unmarshal(kept.Outlines, &draft); err != nil {
			faults = append(faults, study.WrapError(err, "draft.unreadable", study.Values{"Film": f.Name(), "Why": study.NoteOf(err)}))
			continue
		}
		if draft != nil {
			f.Draft, f.changed = draft, true
		}
	}
	return errors.Join(faults...)
}

// forget drops what is kept of a film that is taken out of the strip.
func (d *Drafts) forget(f *Film) {
	delete(d.dirty, f)
	delete(d.noted, f)
	st, hipID := d.s.book.store, d.s.hip.ID
	if st == nil || hipID == "" {
		if err := d.s.intake.letGo(f); err != nil {
			d.s.Say("%s", study.Told(err))
		}
		return
	}
	switch err := dropFilm(context.Background(), st, hipID, f.ID, d.s.stamp()); {
	case errors.Is(err, study.ErrRests): // an exclusion does: it stays a film of the hip
	case err != nil:
		d.s.Say("%s", study.Told(err))
	default:
		f.saved, f.Revision = false, 0
	}
}

// Drop gives up all changes that are not accepted, on disk as well.
func (d *Drafts) Drop() error {
	var step change
	for _, f := range d.s.strip.films {
		if f.changed {
			before := f.memory()
			f.Draft, f.changed = f.found(), false
			f.turn++
			d.keep(f)
			step.parts = append(step.parts, change{film: f, before: before, after: f.memory()})
		}
	}
	if n := len(step.parts); n > 0 {
		step.name = study.Note{Code: "step.drop", Values: study.Values{"N": float64(n)}}
		d.s.history.record(step)
	}
	return d.Flush()
}

// leave closes the drafts of the films that are open; what is on disk stays there.
func (d *Drafts) leave() { d.dirty, d.noted, d.own = nil, nil, nil }

// move puts the drafts of this window into the study that was just made.
func (d *Drafts) move() error {
	clear(d.noted)
	clear(d.own)
	for _, f := range d.s.strip.films {
		if f.changed {
			d.keep(f)
		}
	}
	return d.Flush()
}
