package session

import (
	"cmp"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"time"

	"linerwatch/app/session/jobs"
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

	path string
	hips []leftHip
}

// leftHip is a hip of a leftover with its films and the outlines that were changed, the
// newest last.
type leftHip struct {
	study.Hip
	films  []study.Film
	drafts []study.Draft
}

// Leftover looks in the background for the first leftover that holds such outlines, and
// hands it to then; ok is false where none does. A file that cannot be read is told, and
// stays.
func (b *Book) Leftover(then func(l Leftover, ok bool)) {
	b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		l, faults := b.firstLeft(ctx)
		return func() {
			for _, said := range faults {
				b.s.Say("%s", say("book.leftover", "What", said))
			}
			then(l, l.Films > 0)
		}
	}})
}

// firstLeft returns the first leftover that holds outlines, and what is said of those that
// cannot be read.
func (b *Book) firstLeft(ctx context.Context) (l Leftover, faults []string) {
	for _, path := range b.s.cfg.Leftovers {
		if gone(path) {
			continue
		}
		l, err := b.leftIn(ctx, path)
		if err != nil {
			faults = append(faults, say("book.leftover-unreadable", "Path", path, "Why", study.Told(err)))
		} else if l.Films > 0 {
			return l, faults
		}
	}
	return Leftover{}, faults
}

func (b *Book) leftIn(ctx context.Context, path string) (l Leftover, err error) {
	st, err := b.openStore(path)
	if err != nil {
		return l, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	hips, err := st.Hips(ctx)
	if err != nil {
		return l, err
	}
	l.path = path
	for _, h := range hips {
		left := leftHip{Hip: h}
		if left.drafts, err = st.Drafts(ctx, h.ID); err != nil {
			return l, err
		}
		left.drafts = slices.DeleteFunc(left.drafts, func(d study.Draft) bool { return d.Kind != study.Edited })
		if len(left.drafts) == 0 {
			continue
		}
		if left.films, err = st.Films(ctx, h.ID); err != nil {
			return l, err
		}
		l.hips, l.Hips = append(l.hips, left), append(l.Hips, h.Label())
		l.Films += len(left.drafts)
		l.At = left.drafts[len(left.drafts)-1].At
	}
	return l, nil
}

// TakeUp takes a leftover into the open study, or into the one that films go to, shows its
// first hip and calls then. The file is kept under another name.
func (b *Book) TakeUp(l Leftover, then func(error)) {
	var films []string
	for _, h := range l.hips {
		for _, f := range h.films {
			films = append(films, f.Path)
		}
	}
	b.ready(films, func(bool) {
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
	for _, h := range l.hips {
		id, err := b.takeHip(h.Hip, h.films, h.drafts)
		if err != nil {
			return err
		}
		first = cmp.Or(first, id)
	}
	if _, err := b.PutAside(l); err != nil {
		return err
	}
	if err := b.s.OpenHip(first); err != nil {
		return err
	}
	b.s.strip.show(slices.IndexFunc(b.s.strip.films, func(f *Film) bool { return f.changed }))
	b.s.Say("%s", say("book.taken-into", "File", study.NameOf(b.path)))
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
		if h, err = b.saveHip(h, ""); err != nil {
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
		if _, err := b.saveHip(h, ""); err != nil {
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
		return "", study.NewError("book.in-the-way", study.Values{"Path": path})
	}
	return path, os.Rename(l.path, path)
}
