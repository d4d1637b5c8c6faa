package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"time"

	"linerwatch/app/study"
)

// DefaultLeftovers returns the files in which earlier versions of the program kept drafts
// while no study was open.
func DefaultLeftovers() []string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return nil
	}
	list, _ := filepath.Glob(filepath.Join(dir, "linerwatch", "unfinished*"+study.FileExt)) // the pattern is sound
	return list
}

// Leftover is outlines that a reader changed and did not accept, which an earlier version
// of the program kept in a file of its own.
type Leftover struct {
	Hips  []string // their labels
	Films int      // with changed outlines
	At    time.Time

	path  string
	films []string // their files
}

// Leftover returns the first leftover that holds such outlines; ok is false where none
// does. A file that cannot be read is told, and stays.
func (b *Book) Leftover() (l Leftover, ok bool) {
	for _, path := range b.s.cfg.Leftovers {
		if _, err := os.Stat(path); err != nil {
			continue
		}
		l, err := b.leftIn(path)
		if err != nil {
			b.s.Say("Unfinished work of an earlier version is in %s, which cannot be read: %s", path, study.Told(err))
			continue
		}
		if l.Films > 0 {
			return l, true
		}
	}
	return Leftover{}, false
}

func (b *Book) leftIn(path string) (l Leftover, err error) {
	l.path = path
	err = b.eachLeft(path, func(_ study.Store, h study.Hip, films []study.Film, list []study.Draft) error {
		l.Hips = append(l.Hips, h.Label())
		l.Films += len(list)
		l.At = list[len(list)-1].At
		for _, f := range films {
			l.films = append(l.films, f.Path)
		}
		return nil
	})
	return l, err
}

// eachLeft hands each hip of a file that has outlines that were changed, with its films
// and those outlines, the newest last.
func (b *Book) eachLeft(path string, each func(study.Store, study.Hip, []study.Film, []study.Draft) error) (err error) {
	st, err := b.openStore(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	ctx := context.Background()
	hips, err := st.Hips(ctx)
	if err != nil {
		return err
	}
	for _, h := range hips {
		list, err := st.Drafts(ctx, h.ID)
		if err != nil {
			return err
		}
		list = slices.DeleteFunc(list, func(d study.Draft) bool { return d.Kind != study.Edited })
		if len(list) == 0 {
			continue
		}
		films, err := st.Films(ctx, h.ID)
		if err != nil {
			return err
		}
		if err := each(st, h, films, list); err != nil {
			return err
		}
	}
	return nil
}

// TakeUp takes a leftover into the open study, or into the one that films go to, shows its
// first hip and calls then. The file is kept under another name.
func (b *Book) TakeUp(l Leftover, then func(error)) {
	b.ready(l.films, func(bool) {
		err := ErrNoStudy
		if b.store != nil {
			err = b.takeUp(l)
		}
		then(err)
	})
}

func (b *Book) takeUp(l Leftover) error {
	if err := b.s.drafts.Flush(); err != nil {
		return err
	}
	var first string
	err := b.eachLeft(l.path, func(_ study.Store, h study.Hip, films []study.Film, list []study.Draft) error {
		id, err := b.takeHip(h, films, list)
		if first == "" {
			first = id
		}
		return err
	})
	if err == nil {
		_, err = b.PutAside(l)
	}
	if err != nil {
		return err
	}
	if err := b.s.OpenHip(first); err != nil {
		return err
	}
	b.s.strip.show(slices.IndexFunc(b.s.strip.films, func(f *Film) bool { return f.changed }))
	b.s.Say("Taken into %s. Nothing of it has been accepted yet.", filepath.Base(b.path))
	return nil
}

// takeHip takes a hip into the open study with its films and drafts, and returns its ID
// there. Where the study has that hip, they become that hip's; a draft that the study has
// of the film stays.
func (b *Book) takeHip(h study.Hip, films []study.Film, list []study.Draft) (string, error) {
	ctx := context.Background()
	baseline := h.Baseline
	i := slices.IndexFunc(b.hips, func(o study.Hip) bool { return h.Patient != "" && o.Label() == h.Label() })
	if i >= 0 {
		h = b.hips[i]
	} else {
		var err error
		h.ID, h.Revision, h.Baseline = "", 0, "" // of the other file
		if h, err = b.saveHip(h); err != nil {
			return "", err
		}
	}
	id := map[string]string{}
	for _, f := range films {
		was := f.ID
		f.ID, f.Revision = "", 0
		f, err := b.putFilm(ctx, b.store, h.ID, f)
		if err != nil {
			return h.ID, err
		}
		id[was] = f.ID
	}
	if i < 0 && baseline != "" {
		h.Baseline = id[baseline]
		if _, err := b.saveHip(h); err != nil {
			return h.ID, err
		}
	}
	has, err := b.store.Drafts(ctx, h.ID)
	if err != nil {
		return h.ID, err
	}
	for _, d := range list {
		d.HipID, d.FilmID = h.ID, id[d.FilmID]
		if slices.ContainsFunc(has, func(o study.Draft) bool { return o.FilmID == d.FilmID && o.Kind == d.Kind }) {
			continue
		}
		if err := b.store.SaveDraft(ctx, d); err != nil {
			return h.ID, err
		}
	}
	b.s.overview.outdated(h.ID)
	return h.ID, nil
}

// PutAside keeps the file of a leftover under a name by which it is not offered again, and
// returns that.
func (b *Book) PutAside(l Leftover) (path string, err error) {
	dir, name := filepath.Split(l.path)
	path = filepath.Join(dir, b.s.cfg.Now().Format("20060102T150405")+"-"+name)
	if !gone(path) {
		return "", errors.New("session: " + path + " is in the way")
	}
	return path, os.Rename(l.path, path)
}
