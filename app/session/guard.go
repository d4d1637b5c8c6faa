package session

import (
	"context"
	"errors"
	"sync/atomic"
	"time"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// guard is the open study. Where its file goes from its place, what is written is in the
// open study all the same: that is no failure of what was being done, and is told by
// Book.Fault until the study is saved elsewhere, or the same file is back and lacks nothing.
type guard struct {
	study.Store
	gone   atomic.Int64 // times that the file was not at its place, since it last was
	writes atomic.Int64 // times that something was saved
	seen   int64        // version of the study that is shown
	damage error        // what the check of the file found
	backup error        // why its last backup could not be made, once it is told
	away   bool         // its server was not reached when it was looked for last
	told   func()       // once gone; called on the goroutine that wrote
}

func (g *guard) heed(err error) error {
	if !errors.Is(err, study.ErrMoved) {
		return err
	}
	if g.gone.Add(1) == 1 {
		g.told()
	}
	return nil
}

// wrote notes that something was saved, and heeds how that ended.
func (g *guard) wrote(err error) error {
	g.writes.Add(1)
	return g.heed(err)
}

// SaveHip implements study.Store.
func (g *guard) SaveHip(ctx context.Context, h study.Hip, by study.Stamp) (study.Hip, error) {
	h, err := g.Store.SaveHip(ctx, h, by)
	return h, g.wrote(err)
}

// SaveFilm implements study.Store.
func (g *guard) SaveFilm(ctx context.Context, f study.Film, by study.Stamp) (study.Film, error) {
	f, err := g.Store.SaveFilm(ctx, f, by)
	return f, g.wrote(err)
}

// AddFilms implements study.Store.
func (g *guard) AddFilms(ctx context.Context, list []study.Film, by study.Stamp) ([]study.Film, error) {
	list, err := g.Store.AddFilms(ctx, list, by)
	return list, g.wrote(err)
}

// DropFilm implements study.Store.
func (g *guard) DropFilm(ctx context.Context, filmID string, by study.Stamp) error {
	return g.wrote(g.Store.DropFilm(ctx, filmID, by))
}

// SaveLink implements study.Store.
func (g *guard) SaveLink(ctx context.Context, l study.Link, by study.Stamp) error {
	return g.wrote(g.Store.SaveLink(ctx, l, by))
}

// DropLink implements study.Store.
func (g *guard) DropLink(ctx context.Context, hipID, filmID string, by study.Stamp) error {
	return g.wrote(g.Store.DropLink(ctx, hipID, filmID, by))
}

// AddReading implements study.Store.
func (g *guard) AddReading(ctx context.Context, r study.Reading) error {
	return g.wrote(g.Store.AddReading(ctx, r))
}

// AddNext implements study.Store.
func (g *guard) AddNext(ctx context.Context, r study.Reading) error {
	return g.wrote(g.Store.AddNext(ctx, r))
}

// AddWithdrawal implements study.Store.
func (g *guard) AddWithdrawal(ctx context.Context, w study.Withdrawal) error {
	return g.wrote(g.Store.AddWithdrawal(ctx, w))
}

// SaveDraft implements study.Store.
func (g *guard) SaveDraft(ctx context.Context, d study.Draft) error {
	return g.wrote(g.Store.SaveDraft(ctx, d))
}

// DropDraft implements study.Store.
func (g *guard) DropDraft(ctx context.Context, hipID, filmID string, kind study.DraftKind) error {
	return g.wrote(g.Store.DropDraft(ctx, hipID, filmID, kind))
}

// AddExclusion implements study.Store.
func (g *guard) AddExclusion(ctx context.Context, e study.Exclusion) error {
	return g.wrote(g.Store.AddExclusion(ctx, e))
}

// AddLists implements study.Store.
func (g *guard) AddLists(ctx context.Context, lists []study.List, by study.Stamp) ([]study.List, error) {
	saved, err := g.Store.AddLists(ctx, lists, by)
	return saved, g.wrote(err)
}

// AddUnblinding implements study.Store.
func (g *guard) AddUnblinding(ctx context.Context, u study.Unblinding) error {
	return g.wrote(g.Store.AddUnblinding(ctx, u))
}

// SaveListDraft implements study.Store.
func (g *guard) SaveListDraft(ctx context.Context, d study.ListDraft) error {
	return g.wrote(g.Store.SaveListDraft(ctx, d))
}

// DropListDraft implements study.Store.
func (g *guard) DropListDraft(ctx context.Context, listID string, place int) error {
	return g.wrote(g.Store.DropListDraft(ctx, listID, place))
}

// AddDisclosure implements study.Store.
func (g *guard) AddDisclosure(ctx context.Context, d study.Disclosure) error {
	return g.wrote(g.Store.AddDisclosure(ctx, d))
}

// SetSetting implements study.Store.
func (g *guard) SetSetting(ctx context.Context, key, value string, by study.Stamp) error {
	return g.wrote(g.Store.SetSetting(ctx, key, value, by))
}

// SavePatient implements study.Store.
func (g *guard) SavePatient(ctx context.Context, p study.Patient, by study.Stamp) (study.Patient, error) {
	saved, err := g.Store.SavePatient(ctx, p, by)
	return saved, g.wrote(err)
}

// SaveSite implements study.Store.
func (g *guard) SaveSite(ctx context.Context, p study.Site, by study.Stamp) (study.Site, error) {
	saved, err := g.Store.SaveSite(ctx, p, by)
	return saved, g.wrote(err)
}

// SaveVariable implements study.Store.
func (g *guard) SaveVariable(ctx context.Context, v study.Variable, by study.Stamp) (study.Variable, error) {
	saved, err := g.Store.SaveVariable(ctx, v, by)
	return saved, g.wrote(err)
}

// Enter implements study.Store.
func (g *guard) Enter(ctx context.Context, e study.Entries, by study.Stamp) (study.Entries, error) {
	saved, err := g.Store.Enter(ctx, e, by)
	return saved, g.wrote(err)
}

// AddEvent implements study.Store.
func (g *guard) AddEvent(ctx context.Context, e study.Event) (study.Event, error) {
	saved, err := g.Store.AddEvent(ctx, e)
	return saved, g.wrote(err)
}

// AddGrade implements study.Store.
func (g *guard) AddGrade(ctx context.Context, e study.Grade) error {
	return g.wrote(g.Store.AddGrade(ctx, e))
}

// SetValues implements study.Store.
func (g *guard) SetValues(ctx context.Context, list []study.Value, by study.Stamp) error {
	return g.wrote(g.Store.SetValues(ctx, list, by))
}

// hold makes st the open study and watches its file.
func (b *Book) hold(st study.Store, path string) {
	g := &guard{Store: st}
	g.told = func() { b.s.cfg.Post(func() { b.tellFault(g) }) }
	b.store, b.guard, b.path = g, g, path
	b.conflict, b.known = nil, knownForm{}
	if v, err := g.Version(context.Background()); err == nil { // else the first look tells
		g.seen = v
	}
	b.watch(g)
	b.lookThrough(g)
}

// lookThrough looks once, in the background, whether the study was changed outside the
// program, and tells it. A study that cannot be looked through is told of by watch.
func (b *Book) lookThrough(g *guard) {
	b.s.work.queue.After(lookEvery, func() {
		if b.guard != g {
			return
		}
		b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
			a, err := g.Audit(ctx)
			return func() {
				if why := a.Altered(); err == nil && !why.IsZero() && b.guard == g && g.damage == nil {
					g.damage = &study.NoteError{Note: why}
					b.tellFault(g)
				}
			}
		}})
	})
}

// lookEvery is the time between two looks at whether the file is still at its place.
const lookEvery = 2 * time.Second

// watch tells once the study has been looked through where it is not sound, and where
// its file has gone.
func (b *Book) watch(g *guard) {
	b.s.work.queue.After(lookEvery, func() {
		if b.guard != g {
			return
		}
		b.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
			was := g.gone.Load()
			err := g.Check(ctx)
			version, unseen := g.Version(ctx)
			return func() {
				if b.guard == g {
					b.found(g, was, err)
					b.tellBackup(g)
					if unseen == nil {
						b.followTo(version)
					}
					b.watch(g)
				}
			}
		}})
	})
}

// found takes what a look at the file has found that began where g.gone was so.
func (b *Book) found(g *guard, was int64, err error) {
	moved := errors.Is(err, study.ErrMoved)
	back := !moved && was > 0 && g.gone.CompareAndSwap(was, 0)
	switch {
	case moved:
		_ = g.heed(err) // tells it
	case errors.Is(err, study.ErrAway):
		if !g.away {
			g.away = true
			b.s.Say("%s", say("book.server-away"))
			b.s.changed(StudyChanged)
		}
	case err == nil && g.away:
		g.away = false
		b.s.Say("%s", say("book.server-back"))
		b.s.changed(StudyChanged)
	case err != nil && (back || g.damage == nil): // one that is back may be damaged
		g.damage = err
		b.tellFault(g)
	case err == nil && back:
		b.s.Say("%s", say("book.back-again", "File", study.NameOf(b.path)))
		b.s.changed(StudyChanged)
	}
}

// tellBackup tells once of each day's own backup of the study that it could not be made.
func (b *Book) tellBackup(g *guard) {
	by, ok := g.Store.(study.BackingUp)
	if !ok {
		return
	}
	ctx, stop := context.WithTimeout(context.Background(), glance)
	defer stop()
	err := by.NotBackedUp(ctx)
	if err != nil && err != g.backup {
		b.s.Say("%s", study.Told(err))
	}
	g.backup = err
}

func (b *Book) tellFault(g *guard) {
	if b.guard != g {
		return
	}
	switch {
	case g.gone.Load() > 0:
		b.s.Say("%s", b.keptWords(say("book.nothing-lost")))
	case g.damage != nil:
		b.s.Say("%s", study.Told(g.damage))
	}
	b.s.changed(StudyChanged)
}

// keptWords says where what was done is kept, now that the study's file has gone.
func (b *Book) keptWords(done string) string {
	return say("book.in-no-file", "Done", done, "File", study.NameOf(b.path))
}

// Fault returns what is wrong with the file of the open study: study.ErrMoved where
// it is not at its place, what was found where it is damaged, or nil.
func (b *Book) Fault() error {
	switch g := b.guard; {
	case g == nil:
		return nil
	case g.gone.Load() > 0:
		return study.ErrMoved
	default:
		return g.damage
	}
}

// Away reports whether the server of the open study was not reached when it was last looked for.
func (b *Book) Away() bool { return b.guard != nil && b.guard.away }

// glance is how long a look at the file may take while the reader waits.
const glance = 200 * time.Millisecond

// Look looks now at the file of the open study and returns Fault.
func (b *Book) Look() error {
	if g := b.guard; g != nil {
		was := g.gone.Load()
		ctx, stop := context.WithTimeout(context.Background(), glance)
		defer stop()
		if err := g.Check(ctx); ctx.Err() == nil {
			b.found(g, was, err)
		}
	}
	return b.Fault()
}
