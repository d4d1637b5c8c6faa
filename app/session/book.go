package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// Book is the open study: its file and what is known of that, its hips, whose readings
// count in it, and what another window has saved in it meanwhile.
type Book struct {
	s *Session

	store    study.Store
	path     string
	guard    *guard               // store, with what is known of its file
	conflict *study.ConflictError // to be settled by the reader; nil where there is none
	hips     []study.Hip
	counts   string // whose readings count
	demo     bool   // its films and codes are invented
	told     hipChanges
	known    knownForm
	adapting *adapting  // nil where no study is
	coming   []*arrived // that are being opened
	later    []func()   // what is done once none is
	looked   []string   // lists while which are read blind this reader looks at numbers
	veiled   bool       // numbers are hidden

	gradesFirst bool // a film is graded before its numbers are shown
}

// Book returns the open study.
func (s *Session) Book() *Book { return &s.book }

// Path returns the path of the open study file, or "".
func (b *Book) Path() string { return b.path }

// ProposedPath returns a name for a new study file: beside the films, named
// for the patient. It says nothing that may be corrected of a hip.
func (b *Book) ProposedPath() string {
	name := "study"
	if b.s.hipKnown {
		name = safeName(b.s.hip.Patient)
	}
	dir := ""
	for _, f := range b.s.strip.films {
		if f.Path != "" {
			dir = filepath.Dir(f.Path)
			break
		}
	}
	return filepath.Join(dir, name+study.FileExt)
}

func safeName(s string) string {
	return strings.Map(func(r rune) rune {
		if strings.ContainsRune(`/\:*?"<>|`, r) || r < ' ' {
			return '_'
		}
		return r
	}, s)
}

// show takes an opened study in place of the one that was open, and shows its first hip.
func (b *Book) show(o arrived, path string) error {
	if err := b.take(o.Store, path); err != nil {
		return err
	}
	b.hips = o.hips
	b.s.clear()
	b.s.history.forget()
	b.s.intake.forget()
	if err := b.s.intake.load(); err != nil {
		return err
	}
	if len(o.hips) > 0 && !b.ListsFirst() {
		return b.s.OpenHip(o.hips[0].ID)
	}
	b.s.changed(Everything)
	return nil
}

func (b *Book) openStore(path string) (study.Store, error) {
	if b.s.cfg.Studies.Open == nil {
		return nil, study.NewError("file.no-store", nil)
	}
	return b.s.cfg.Studies.Open(context.Background(), path, nil)
}

// take makes st the open study file.
func (b *Book) take(st study.Store, path string) error {
	var left error // where the study is that was open, whose file has gone
	if b.store != nil {
		b.s.intake.keep()
		if err := errors.Join(b.s.drafts.Keep(), b.s.intake.flush()); err != nil {
			return errors.Join(err, st.Close())
		}
		if err := b.store.Close(); errors.Is(err, study.ErrMoved) {
			left = err
		} else if err != nil {
			return errors.Join(err, st.Close())
		}
	}
	b.hold(st, path)
	b.s.overview.forget()
	b.s.course.peers.forget()
	b.looked = nil
	b.veil()
	if err := errors.Join(b.loadCounts(), b.loadGradesFirst(), b.learnDemo()); err != nil {
		return err
	}
	b.remember(path)
	b.s.changed(StudyChanged)
	if left != nil {
		b.s.cfg.Post(func() { b.s.Say("%s", study.Told(left)) })
	}
	return nil
}

// withExt gives a path without an extension that of study files.
func withExt(path string) string {
	if filepath.Ext(path) == "" && !study.IsAddress(path) {
		path += study.FileExt
	}
	return path
}

// keepIn makes an opened study the one that readings go to from now on, and saves the hip
// in it.
func (b *Book) keepIn(o arrived, path string) error {
	for _, h := range o.hips {
		if b.s.hipKnown && h.Label() == b.s.hip.Label() {
			return errors.Join(study.NewError("file.holds-hip", study.Values{"File": study.NameOf(path), "Hip": h.Label()}), o.Close())
		}
	}
	if err := b.take(o.Store, path); err != nil {
		return err
	}
	b.hips = o.hips
	if err := errors.Join(b.s.intake.flush(), b.s.intake.load()); err != nil {
		return err
	}
	if !b.s.hipKnown {
		return nil
	}
	old, h := b.s.hip.ID, b.s.hip
	h.ID, h.Revision = "", 0
	for _, f := range b.s.strip.films {
		f.saved, f.Revision = false, 0
	}
	var err error
	if b.s.hip, err = b.saveHip(h, ""); err != nil {
		return err
	}
	b.s.history.rename(old, b.s.hip.ID)
	return b.s.drafts.move()
}

// saveHip saves h in the study file and returns it as it is kept there.
func (b *Book) saveHip(h study.Hip, why string) (study.Hip, error) {
	h, err := b.store.SaveHip(context.Background(), h, b.s.because(why))
	if err != nil {
		return h, b.clash(err)
	}
	b.s.overview.outdated(h.ID)
	i := slices.IndexFunc(b.hips, func(o study.Hip) bool { return o.ID == h.ID })
	if i < 0 {
		b.hips = append(b.hips, h)
	} else {
		b.hips[i] = h
	}
	return h, nil
}

// hipLabel returns what a hip of the study file is called.
func (b *Book) hipLabel(id string) string {
	if i := slices.IndexFunc(b.hips, func(h study.Hip) bool { return h.ID == id }); i >= 0 {
		return b.hips[i].Label()
	}
	return id
}

// wholeReadings returns the readings of a hip with their edge points.
func (b *Book) wholeReadings(ctx context.Context, id string) ([]study.Reading, error) {
	list, err := b.store.Readings(ctx, id)
	for i := range list {
		p, perr := b.store.Points(ctx, list[i].ID)
		if perr != nil {
			return nil, perr
		}
		list[i] = list[i].With(p)
	}
	return list, err
}

// Hips returns the hips of the open study file.
func (b *Book) Hips() []study.Hip { return b.hips }

// close closes the study file, if there is one.
func (b *Book) close() error {
	var errs []error
	for _, o := range b.coming { // nobody waits for them any more
		if o.Store != nil {
			errs = append(errs, o.Close())
		}
	}
	if b.coming = nil; b.store == nil {
		return errors.Join(errs...)
	}
	err := errors.Join(append(errs, b.store.Close())...)
	b.store, b.guard = nil, nil
	return err
}

// Recent returns the study files opened last that still exist.
func (b *Book) Recent() []string {
	var out []string
	for _, p := range b.s.settings.Recent {
		if there(p) {
			out = append(out, p)
		}
	}
	return out
}

// there reports whether a study file still exists. Whether a server does is not asked.
func there(path string) bool {
	_, err := os.Stat(path)
	return err == nil || study.IsAddress(path)
}

// remember puts a study first among the recent ones. An address with a password is not kept.
func (b *Book) remember(path string) {
	if study.HoldsSecret(path) {
		return
	}
	if abs, err := filepath.Abs(path); err == nil && !study.IsAddress(path) {
		path = abs
	}
	list := slices.DeleteFunc(slices.Clone(b.s.settings.Recent), func(p string) bool { return p == path })
	list = append([]string{path}, list...)
	b.s.settings.Recent = list[:min(len(list), recentLength)]
	if !b.demo {
		b.s.settings.Study = path
	}
	if err := b.s.remember(); err != nil {
		b.s.Say("%s", say("book.recent-not-saved", "Why", study.Told(err)))
	}
}

// Demo reports whether films and codes of the open study are invented.
func (b *Book) Demo() bool { return b.demo }

// Stamp says who reads now, when, and with which version of the program.
func (b *Book) Stamp() study.Stamp { return b.s.stamp() }

// Apart hands the study file to use in the background, which changes nothing of it, and then
// calls done on the session's goroutine. What waits to be saved is saved before, so that use
// sees what is shown.
func (b *Book) Apart(use func(context.Context, study.Store) error, done func(error)) {
	if b.store == nil {
		done(ErrNoStudy)
		return
	}
	if err := errors.Join(b.s.drafts.Flush(), b.s.intake.flush()); err != nil {
		done(err)
		return
	}
	st := b.store
	b.s.work.queue.Start(jobs.Job{Run: func(ctx context.Context, _ jobs.Step) func() {
		err := use(ctx, st)
		return func() { done(err) }
	}, Dropped: func() { done(study.NewError("book.stopped", nil)) }})
}

// Program is the version of the program.
func (b *Book) Program() string { return b.s.cfg.Version }

// Lacks reports whether the file of a film is not where it was last.
func (b *Book) Lacks(f study.Film) bool { return batch.Lacks(f) }
