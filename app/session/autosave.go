package session

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

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
		time.AfterFunc(draftDelay, func() { s.cfg.Post(s.saveDrafts) })
	}
}

// KeepsDrafts reports whether changed outlines outlive the program.
func (s *Session) KeepsDrafts() bool {
	if s.store != nil {
		_, ok := s.store.(study.DraftStore)
		return ok
	}
	return s.cfg.UnfinishedPath != "" && s.cfg.OpenStore != nil
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
	st, err := s.draftStore()
	if err != nil || st == nil {
		return err
	}
	for f := range s.autosave.dirty {
		if s.index(f) >= 0 {
			if err := s.saveDraft(st, f); err != nil {
				return err
			}
		}
		delete(s.autosave.dirty, f)
	}
	return nil
}

func (s *Session) saveDraft(st study.DraftStore, f *Film) error {
	ctx := context.Background()
	s.overview.outdated(s.hip.ID)
	if !f.changed {
		if f.HipID != "" { // the study knows the film
			return st.DropDraft(ctx, s.hip.ID, f.ID)
		}
		return st.SaveDraft(ctx, s.hip.ID, study.Draft{Film: f.Film, At: s.cfg.Now(), Outlines: []byte("null")})
	}
	outlines, err := json.Marshal(f.Draft)
	if err != nil {
		return err
	}
	film := f.Film
	film.Patient = f.PatientCode
	return st.SaveDraft(ctx, s.hip.ID, study.Draft{Film: film, At: s.cfg.Now(), Outlines: outlines})
}

// draftStore returns where drafts go. It then knows the hip and all films of the
// strip.
func (s *Session) draftStore() (study.DraftStore, error) {
	st, _ := s.store.(study.DraftStore)
	if s.store == nil {
		var err error
		if st, err = s.unfinished(); err != nil || st == nil {
			return nil, err
		}
		if err := s.autosave.own.SaveHip(context.Background(), s.hip); err != nil {
			return nil, err
		}
	}
	if st == nil {
		return nil, nil
	}
	return st, s.noteOpen(st)
}

// noteOpen keeps which films are open that the study does not know yet.
func (s *Session) noteOpen(st study.DraftStore) error {
	if s.autosave.noted == nil {
		s.autosave.noted = map[*Film]bool{}
	}
	for _, f := range s.films {
		if s.autosave.noted[f] || f.SHA256 == "" || f.HipID != "" || s.autosave.dirty[f] {
			continue
		}
		if err := s.saveDraft(st, f); err != nil {
			return err
		}
		s.autosave.noted[f] = true
	}
	return nil
}

// forgetDraft drops what is kept of a film that is taken out of the strip.
func (s *Session) forgetDraft(f *Film) {
	st, _ := s.store.(study.DraftStore)
	if s.store == nil && s.autosave.own != nil {
		st, _ = s.autosave.own.(study.DraftStore)
	}
	delete(s.autosave.dirty, f)
	delete(s.autosave.noted, f)
	if st != nil && s.hipKnown {
		if err := st.DropDraft(context.Background(), s.hip.ID, f.ID); err != nil {
			s.Say("%s", study.Plain(err))
		}
	}
}

// unfinished opens the program's own file, of which this window takes one that no
// other has and in which nothing waits; nil where there is none to be had.
func (s *Session) unfinished() (study.DraftStore, error) {
	a := &s.autosave
	if a.own == nil {
		if s.cfg.UnfinishedPath == "" || s.cfg.OpenStore == nil {
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
		own, err := s.cfg.OpenStore(a.path)
		if err != nil {
			return nil, err
		}
		a.own = own
	}
	st, _ := a.own.(study.DraftStore)
	return st, nil
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
	if _, err := os.Stat(path); err != nil || s.cfg.OpenStore == nil {
		return u, nil // nothing was ever left there
	}
	st := s.autosave.own
	if st == nil || path != s.autosave.path {
		if st, err = s.cfg.OpenStore(path); err != nil {
			return u, err
		}
		defer func() { err = errors.Join(err, st.Close()) }()
	}
	drafts, ok := st.(study.DraftStore)
	if !ok {
		return u, nil
	}
	ctx := context.Background()
	hips, err := st.Hips(ctx)
	if err != nil {
		return u, err
	}
	for _, h := range hips {
		list, err := drafts.Drafts(ctx, h.ID)
		if err != nil {
			return u, err
		}
		n := 0
		for _, d := range list {
			if string(d.Outlines) != "null" {
				n++
			}
		}
		if n > 0 && list[len(list)-1].At.After(u.At) {
			u = Unfinished{Hip: h, Films: n, At: list[len(list)-1].At, list: list, path: path}
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
	s.history = history{}
	s.hip, s.hipKnown = u.Hip, true
	err := s.takeDrafts(u.list)
	s.sort()
	s.show(0)
	for _, f := range s.films {
		s.need(f)
	}
	s.retrend()
	s.changed(Everything)
	s.Say("Taken up where it was left; nothing of it has been accepted yet.")
	return err
}

// takeDrafts shows drafts on their films. A film that is not in the strip is added.
func (s *Session) takeDrafts(list []study.Draft) error {
	var faults []error
	for _, d := range list {
		f := s.FilmByID(d.Film.ID)
		if f == nil {
			film := d.Film
			film.HipID = ""
			f = &Film{Film: film, PatientCode: film.Patient}
			s.films = append(s.films, f)
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
	hips, err := s.autosave.own.Hips(ctx)
	if err != nil {
		return err
	}
	for _, h := range hips {
		list, err := st.Drafts(ctx, h.ID)
		if err != nil {
			return err
		}
		for _, d := range list {
			if err := st.DropDraft(ctx, h.ID, d.Film.ID); err != nil {
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
		step.name = "drop the changes of " + filmsWord(n)
		s.record(step)
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
