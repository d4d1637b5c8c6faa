package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// DefaultUnfinishedPath returns the place of the program's own file of drafts, or
// "" where there is none.
func DefaultUnfinishedPath() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "linerwatch", "unfinished"+study.FileExt)
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

// ownStore opens the program's own file, of which this window takes one that no
// other has and in which nothing waits; nil where there is none to be had.
func (d *Drafts) ownStore() (study.Store, error) {
	if d.own == nil {
		if d.s.cfg.UnfinishedPath == "" || d.s.cfg.Studies.Open == nil {
			return nil, nil
		}
		if err := os.MkdirAll(filepath.Dir(d.s.cfg.UnfinishedPath), 0o755); err != nil {
			return nil, err
		}
		if d.path == "" {
			if err := d.claimEmpty(); err != nil {
				return nil, err
			}
		}
		own, err := batch.OpenOrCreate(d.path, d.s.cfg.Studies)
		if err != nil {
			return nil, err
		}
		d.own = own
	}
	return d.own, nil
}

// claimEmpty claims the first file in which no work waits.
func (d *Drafts) claimEmpty() error {
	for _, path := range d.ownPaths() {
		if d.claimed(path) {
			continue
		}
		if u, err := d.leftIn(path); err != nil || u.Films > 0 {
			continue
		}
		if d.claim(path) == nil {
			return nil
		}
	}
	return study.NewError("unfinished.much", nil)
}

// Left returns the last work that was left and that no other window has
// open; ok is false where there is nothing to take up.
func (d *Drafts) Left() (u Unfinished, ok bool) {
	for _, path := range d.ownPaths() {
		if d.claimed(path) {
			continue
		}
		if left, err := d.leftIn(path); err == nil && left.Films > 0 && left.At.After(u.At) {
			u = left
		}
	}
	return u, u.Films > 0
}

// leftIn returns the work that is left in a file; Films is 0 where there is none.
func (d *Drafts) leftIn(path string) (u Unfinished, err error) {
	if _, err := os.Stat(path); err != nil || d.s.cfg.Studies.Open == nil {
		return u, nil // nothing was ever left there
	}
	st := d.own
	if st == nil || path != d.path {
		if st, err = d.s.cfg.Studies.Open(path); err != nil {
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
func (d *Drafts) TakeUp(u Unfinished) error {
	if err := d.claim(u.path); err != nil {
		return err
	}
	if _, err := d.ownStore(); err != nil {
		return err
	}
	d.s.clear()
	d.s.history.forget()
	d.hip = u.Hip
	d.s.hip, d.s.hipKnown = u.Hip, true
	d.s.hip.ID, d.s.hip.Revision = "", 0 // no study has it yet
	for _, f := range u.films {
		f.Revision = 0
		d.s.strip.put(&Film{Film: f})
	}
	err := d.show(u.list)
	d.s.strip.sort()
	d.s.strip.show(0)
	for _, f := range d.s.strip.films {
		d.s.work.need(f)
	}
	d.s.course.renew()
	d.s.changed(Everything)
	d.s.Say("Taken up where it was left; nothing of it has been accepted yet.")
	return err
}

// DropLeft drops work that was left.
func (d *Drafts) DropLeft(u Unfinished) error {
	if err := d.claim(u.path); err != nil {
		return err
	}
	return d.DropUnfinished()
}

// DropUnfinished drops what this window's own file holds.
func (d *Drafts) DropUnfinished() error {
	if d.path == "" {
		return nil // it has none
	}
	st, err := d.ownStore()
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
	clear(d.noted)
	return nil
}
