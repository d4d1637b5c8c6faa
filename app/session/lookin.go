package session

import (
	"context"
	"errors"
	"path/filepath"
	"slices"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// LookIn looks in a folder, and those in it, for the films of the study whose files are
// not where they were, of every hip. They are told by their pictures. Where those that
// are found are now is saved.
func (b *Book) LookIn(dir string) {
	if abs, err := filepath.Abs(dir); err == nil {
		dir = abs // the study must find it from any working folder
	}
	h := &hunt{open: b.s.cfg.Open, store: b.store, by: b.s.stamp()}
	for _, f := range b.s.strip.films {
		if f.Lost() {
			h.wanted = append(h.wanted, f.Film)
		}
	}
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, step jobs.Step) func() {
		err := h.in(ctx, dir, step)
		return func() { b.hunted(h, dir, err) }
	}})
}

// hunt is a search for files by their pictures.
type hunt struct {
	open   func(path string) (*dicomio.Film, error)
	store  study.Store // nil where none is open
	by     study.Stamp
	wanted []study.Film // not found yet
	found  []study.Film // as they are now
	faults []error
}

func (h *hunt) in(ctx context.Context, dir string, step jobs.Step) error {
	if err := h.missing(ctx); err != nil || len(h.wanted) == 0 {
		return err
	}
	var paths []string
	for _, file := range source.Films([]string{dir}) {
		if !file.Fault.IsZero() {
			return study.NewError("look-in.fault", study.Values{"Path": file.Path, "Why": file.Fault})
		}
		paths = append(paths, file.Path)
	}
	// A file that was only moved is told by its hash, far faster than by its picture.
	rest := paths[:0:0]
	for i, p := range paths {
		if len(h.wanted) == 0 || ctx.Err() != nil {
			return ctx.Err()
		}
		step(i, 2*len(paths))
		if sum, err := batch.HashOf(p); err != nil || !h.is(ctx, p, study.Facts{SHA256: sum}) {
			rest = append(rest, p)
		}
	}
	for i, p := range rest {
		if len(h.wanted) == 0 || ctx.Err() != nil {
			return ctx.Err()
		}
		step(2*len(paths)-len(rest)+i, 2*len(paths))
		if in, err := h.open(p); err == nil { // what cannot be read is none of them
			h.is(ctx, p, source.FactsOf(in))
		}
	}
	return nil
}

// missing adds the films of the study that are not where they were to those wanted.
func (h *hunt) missing(ctx context.Context) error {
	if h.store == nil {
		return nil
	}
	hips, err := h.store.Hips(ctx)
	if err != nil {
		return err
	}
	for _, hip := range hips {
		films, err := h.store.Films(ctx, hip.ID)
		if err != nil {
			return err
		}
		for _, f := range films {
			known := func(o study.Film) bool { return o.ID == f.ID }
			if !slices.ContainsFunc(h.wanted, known) && gone(f.Path) {
				h.wanted = append(h.wanted, f)
			}
		}
	}
	return nil
}

// is reports whether the file at path is one of those wanted, and keeps its place.
func (h *hunt) is(ctx context.Context, path string, facts study.Facts) bool {
	i := slices.IndexFunc(h.wanted, func(f study.Film) bool { return f.Facts.SamePicture(facts) })
	if i < 0 {
		return false
	}
	f := h.wanted[i]
	f.Path = path
	if h.store != nil && f.Revision > 0 {
		saved, err := resave(ctx, h.store, f, h.by)
		if err != nil {
			h.faults = append(h.faults, err)
			return true
		}
		f = saved
	}
	h.found, h.wanted = append(h.found, f), slices.Delete(h.wanted, i, i+1)
	return true
}

// hunted shows what was found of the films that are open, and tells what was not.
func (b *Book) hunted(h *hunt, dir string, err error) {
	err = errors.Join(append(h.faults, err)...)
	for _, now := range h.found {
		f := b.s.strip.ByID(now.ID)
		if f == nil {
			continue
		}
		if f.Path = now.Path; f.saved {
			f.Revision = now.Revision
		} else {
			b.s.work.relocated(f)
		}
		if f.Lost() {
			b.s.work.again(f)
		}
	}
	b.s.changed(FilmsChanged | SelectedChanged)
	var names []string
	for _, f := range h.wanted {
		names = append(names, f.Name())
	}
	n := len(h.found)
	switch {
	case err != nil && n == 0:
		b.s.Say("%s", say("lookin.none", "Why", study.Told(err)))
	case err != nil:
		b.s.Say("%s", say("lookin.some-then", "N", n, "Why", study.Told(err)))
	case n == 0 && len(names) == 0:
		b.s.Say("%s", say("lookin.no-missing"))
	case n == 0:
		b.s.Say("%s", say("lookin.still", "N", len(names), "Names", SomeOf(names, ", "), "Folder", filepath.Base(dir)))
	case len(names) > 0:
		b.s.Say("%s", say("lookin.some-still", "N", n, "Missing", len(names), "Names", SomeOf(names, ", ")))
	default:
		b.s.Say("%s", say("lookin.all", "N", n))
	}
}
