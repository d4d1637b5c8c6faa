package session

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// draftDelay is the time from a change to its being on disk, less the writing.
const draftDelay = 400 * time.Millisecond

// autosave keeps drafts: in the open study file, or, before there is one, in a
// file of the program's own.
type autosave struct {
	waiting bool           // a save is to come
	dirty   map[*Film]bool // films whose draft on disk is not that on the screen
	noted   map[*Film]bool // films that are on disk as open
	own     study.Store    // the program's own file, opened when first needed
	hip     study.Hip      // the open one, as own keeps it
	path    string         // of own, once it is claimed
}

// DefaultUnfinishedPath returns the place of the program's own file of drafts, or
// "" where there is none.
func DefaultUnfinishedPath() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "linerwatch", "unfinished"+study.FileExt)
}

// keep notes that the draft of f has changed and saves it soon.
func (s *Session) keep(f *Film) {
	a := &s.autosave
	if !s.KeepsDrafts() || f == nil {
		return
	}
	if a.dirty == nil {
		a.dirty = map[*Film]bool{}
	}
	a.dirty[f] = true
	if !a.waiting {
		a.waiting = true
		s.work.queue.After(draftDelay, s.saveDrafts)
	}
}

// KeepsDrafts reports whether changed outlines outlive the program.
func (s *Session) KeepsDrafts() bool {
	return s.store != nil || s.cfg.UnfinishedPath != "" && s.cfg.Studies.Open != nil
}

func (s *Session) saveDrafts() {
	s.autosave.waiting = false
	if err := s.FlushDrafts(); err != nil {
		s.Say("The draft was not saved: %s", study.Plain(err))
	}
}

// FlushDrafts writes to disk what waits to be saved.
func (s *Session) FlushDrafts() error {
	if len(s.autosave.dirty) == 0 || !s.hipKnown {
		return nil
	}
	st, hip, err := s.draftStore()
	if err != nil || st == nil {
		return err
	}
	for f := range s.autosave.dirty {
		if s.index(f) >= 0 {
			if err := s.saveDraft(st, hip, f); err != nil {
				return err
			}
		}
		delete(s.autosave.dirty, f)
	}
	return nil
}

// saveDraft keeps in st how the outlines of f stand for a hip of st.
func (s *Session) saveDraft(st study.Store, hipID string, f *Film) error {
	ctx := context.Background()
	s.overview.outdated(s.hip.ID)
	film := f.Film
	if st != s.store || !f.saved {
		var err error
		if film, err = s.putFilm(ctx, st, hipID, film); err != nil {
			return err
		}
		if st == s.store {
			f.Film, f.saved = film, true
		}
	}
	if !f.changed {
		return st.DropDraft(ctx, hipID, film.ID, study.Edited)
	}
	outlines, err := json.Marshal(f.Draft)
	if err != nil {
		return err
	}
	return st.SaveDraft(ctx, study.Draft{HipID: hipID, FilmID: film.ID, Kind: study.Edited, At: s.cfg.Now(),
		Version: s.cfg.Version, Outlines: outlines})
}

// draftStore returns where drafts go, and the ID of the hip there. It then knows the hip
// and all films of the strip.
func (s *Session) draftStore() (st study.Store, hipID string, err error) {
	if s.store != nil {
		return s.store, s.hip.ID, s.noteOpen(s.store, s.hip.ID)
	}
	if st, err = s.unfinished(); err != nil || st == nil {
		return nil, "", err
	}
	a, h := &s.autosave, s.hip
	if h.ID, h.Revision = a.hip.ID, a.hip.Revision; h != a.hip {
		if a.hip, err = st.SaveHip(context.Background(), h, s.stamp()); err != nil {
			return nil, "", err
		}
	}
	return st, a.hip.ID, s.noteOpen(st, a.hip.ID)
}

// noteOpen keeps which films are open that st does not know yet.
func (s *Session) noteOpen(st study.Store, hipID string) error {
	if s.autosave.noted == nil {
		s.autosave.noted = map[*Film]bool{}
	}
	for _, f := range s.films {
		if s.autosave.noted[f] || f.Facts.SHA256 == "" || f.saved || s.autosave.dirty[f] {
			continue
		}
		if err := s.saveDraft(st, hipID, f); err != nil {
			return err
		}
		s.autosave.noted[f] = true
	}
	return nil
}

// forgetDraft drops what is kept of a film that is taken out of the strip.
func (s *Session) forgetDraft(f *Film) {
	delete(s.autosave.dirty, f)
	delete(s.autosave.noted, f)
	st, hipID := s.store, s.hip.ID
	if st == nil {
		st, hipID = s.autosave.own, s.autosave.hip.ID
	}
	if st == nil || hipID == "" {
		return
	}
	switch err := dropFilm(context.Background(), st, hipID, f.ID); {
	case errors.Is(err, study.ErrRests): // an exclusion does: it stays a film of the hip
	case err != nil:
		s.Say("%s", study.Plain(err))
	default:
		f.saved, f.Revision = false, 0
	}
}

// unfinished opens the program's own file, of which this window takes one that no
// other has and in which nothing waits; nil where there is none to be had.
func (s *Session) unfinished() (study.Store, error) {
	a := &s.autosave
	if a.own == nil {
		if s.cfg.UnfinishedPath == "" || s.cfg.Studies.Open == nil {
			return nil, nil
		}
		if err := os.MkdirAll(filepath.Dir(s.cfg.UnfinishedPath), 0o755); err != nil {
			return nil, err
		}
		if a.path == "" {
			if err := s.claimEmpty(); err != nil {
				return nil, err
			}
		}
		own, err := batch.OpenOrCreate(a.path, s.cfg.Studies)
		if err != nil {
			return nil, err
		}
		a.own = own
	}
	return a.own, nil
}

// claimEmpty claims the first file in which no work waits.
func (s *Session) claimEmpty() error {
	for _, path := range s.ownPaths() {
		if s.claimed(path) {
			continue
		}
		if u, err := s.leftIn(path); err != nil || u.Films > 0 {
			continue
		}
		if s.claim(path) == nil {
			return nil
		}
	}
	return errors.New("session: too much unfinished work is left; take some of it up first")
}

// Unfinished is work that was left without a study file.
type Unfinished struct {
	Hip   study.Hip
	Films int // with changed outlines
	At    time.Time
	films []study.Film
	list  []study.Draft
	path  string
}

// Unfinished returns the last work that was left and that no other window has
// open; ok is false where there is nothing to take up.
func (s *Session) Unfinished() (u Unfinished, ok bool) {
	for _, path := range s.ownPaths() {
		if s.claimed(path) {
			continue
		}
		if left, err := s.leftIn(path); err == nil && left.Films > 0 && left.At.After(u.At) {
			u = left
		}
	}
	return u, u.Films > 0
}

// leftIn returns the work that is left in a file; Films is 0 where there is none.
func (s *Session) leftIn(path string) (u Unfinished, err error) {
	if _, err := os.Stat(path); err != nil || s.cfg.Studies.Open == nil {
		return u, nil // nothing was ever left there
	}
	st := s.autosave.own
	if st == nil || path != s.autosave.path {
		if st, err = s.cfg.Studies.Open(path); err != nil {
			return u, err
		}
		defer func() { err = errors.Join(err, st.Close()) }()
	}
	ctx := context.Background()
	hips, err := st.Hips(ctx)
	if err != nil {
		return u, err
	}
	for _, h := range hips {
		list, err := st.Drafts(ctx, h.ID)
		if err != nil {
			return u, err
		}
		if n := len(list); n > 0 && list[n-1].At.After(u.At) {
			u = Unfinished{Hip: h, Films: n, At: list[n-1].At, list: list, path: path}
			if u.films, err = st.Films(ctx, h.ID); err != nil {
				return u, err
			}
		}
	}
	return u, nil
}

// TakeUp opens the films of unfinished work with their drafts.
func (s *Session) TakeUp(u Unfinished) error {
	if err := s.claim(u.path); err != nil {
		return err
	}
	if _, err := s.unfinished(); err != nil {
		return err
	}
	s.clear()
	s.history.forget()
	s.autosave.hip = u.Hip
	s.hip, s.hipKnown = u.Hip, true
	s.hip.ID, s.hip.Revision = "", 0 // no study has it yet
	for _, f := range u.films {
		f.Revision = 0
		s.films = append(s.films, &Film{Film: f})
	}
	err := s.takeDrafts(u.list)
	s.sort()
	s.show(0)
	for _, f := range s.films {
		s.work.need(f)
	}
	s.retrend()
	s.changed(Everything)
	s.Say("Taken up where it was left; nothing of it has been accepted yet.")
	return err
}

// takeDrafts shows a reader's drafts on their films.
func (s *Session) takeDrafts(list []study.Draft) error {
	var faults []error
	for _, d := range list {
		f := s.FilmByID(d.FilmID)
		if f == nil || d.Kind != study.Edited {
			continue
		}
		var draft *Draft
		if err := json.Unmarshal(d.Outlines, &draft); err != nil {
			faults = append(faults, fmt.Errorf("session: the draft of %s cannot be read: %w", f.Name(), err))
			continue
		}
		if draft != nil {
			f.Draft, f.changed = draft, true
		}
	}
	return errors.Join(faults...)
}

// DropLeft drops work that was left.
func (s *Session) DropLeft(u Unfinished) error {
	if err := s.claim(u.path); err != nil {
		return err
	}
	return s.DropUnfinished()
}

// DropUnfinished drops what this window's own file holds.
func (s *Session) DropUnfinished() error {
	if s.autosave.path == "" {
		return nil // it has none
	}
	st, err := s.unfinished()
	if err != nil || st == nil {
		return err
	}
	ctx := context.Background()
	hips, err := st.Hips(ctx)
	if err != nil {
		return err
	}
	for _, h := range hips {
		list, err := st.Films(ctx, h.ID)
		if err != nil {
			return err
		}
		for _, f := range list {
			if err := dropFilm(ctx, st, h.ID, f.ID); err != nil {
				return err
			}
		}
	}
	clear(s.autosave.noted)
	return nil
}

// DropDrafts gives up all changes that are not accepted, on disk as well.
func (s *Session) DropDrafts() error {
	var step change
	for _, f := range s.films {
		if f.changed {
			before := f.memory()
			f.Draft, f.changed = f.found(), false
			f.turn++
			s.keep(f)
			step.parts = append(step.parts, change{film: f, before: before, after: f.memory()})
		}
	}
	if n := len(step.parts); n > 0 {
		step.name = "drop the changes of " + study.Count(n, "film")
		s.history.record(step)
	}
	if s.store == nil {
		clear(s.autosave.dirty)
		return s.DropUnfinished()
	}
	return s.FlushDrafts()
}

// moveDrafts carries the drafts from the program's own file to the study that was
// just made.
func (s *Session) moveDrafts() error {
	clear(s.autosave.noted)
	for _, f := range s.films {
		if f.changed {
			s.keep(f)
		}
	}
	if err := s.FlushDrafts(); err != nil {
		return err
	}
	return s.DropUnfinished()
}
