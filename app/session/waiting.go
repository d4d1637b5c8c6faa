package session

import (
	"context"
	"slices"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// atOnce is how many films that wait are saved together while more are being read.
const atOnce = 100

// save saves the films that wait, many at once, where a study is open. It keeps nobody
// waiting.
func (in *Intake) save() {
	st, list, by := in.s.book.store, in.unsaved(), in.s.stamp()
	if st == nil || in.saving || len(list) == 0 {
		return
	}
	in.saving = true
	in.s.work.queue.Start(jobs.Job{Aside: true, Dropped: func() { in.saving = false },
		Run: func(ctx context.Context, _ jobs.Step) func() {
			saved, err := st.AddFilms(context.WithoutCancel(ctx), list, by)
			return func() {
				in.saving = false
				in.saved(list, saved, err)
				if err == nil {
					in.save() // those that came meanwhile
				}
			}
		}})
}

// hold has the study keep the films that nobody has claimed, at once: should the program end
// before somebody does, they wait there.
func (in *Intake) hold() {
	st, by := in.s.book.store, in.s.stamp()
	if st == nil {
		return
	}
	var films []*Film
	var list []study.Film
	for _, f := range in.unclaimed() {
		if f.saved || f.held {
			continue
		}
		f.held = true
		films, list = append(films, f), append(list, waitingAs(f))
	}
	if len(list) == 0 {
		return
	}
	release := func() {
		for _, f := range films {
			f.held = false
		}
	}
	in.s.work.queue.Start(jobs.Job{Aside: true, Dropped: release, Run: func(ctx context.Context, _ jobs.Step) func() {
		_, err := st.AddFilms(context.WithoutCancel(ctx), list, by)
		return func() {
			if err != nil {
				release()
				in.s.Say("%s", say("waits.of-no-hip", "Why", study.Told(err)))
			}
		}
	}})
}

// waitingAs is a film of the strip as one that waits.
func waitingAs(f *Film) study.Film {
	film := f.Film
	film.ID, film.Revision, film.Waits = "", 0, study.NotSorted
	return film
}

// letGo has the study forget a film that it held, which the reader has taken out.
func (in *Intake) letGo(f *Film) error {
	st := in.s.book.store
	if !f.held || st == nil {
		return nil
	}
	f.held = false
	c, known, err := in.s.book.hipsOf(f.Facts)
	if err != nil || !known || c.hip != "" || c.Waits != study.NotSorted {
		return err
	}
	return st.DropFilm(context.Background(), c.ID, in.s.stamp())
}

// unsaved returns the films that wait and that the study does not have yet.
func (in *Intake) unsaved() (list []study.Film) {
	for _, f := range in.films {
		if f.Revision == 0 {
			list = append(list, f)
		}
	}
	return list
}

// saved puts films as the study has them in place of those that were saved.
func (in *Intake) saved(list, saved []study.Film, err error) {
	if err != nil {
		in.s.Say("%s", say("waits.not-saved", "Why", study.Told(err)))
		return
	}
	for i, f := range list {
		at := slices.IndexFunc(in.films, func(g study.Film) bool {
			return g.Revision == 0 && g.Path == f.Path && g.Facts.SHA256 == f.Facts.SHA256
		})
		if at < 0 {
			continue // taken up meanwhile: it is found by its picture
		}
		in.films[at] = saved[i]
	}
}

// flush saves the films that wait before the study is left.
func (in *Intake) flush() error {
	list := in.unsaved()
	if in.s.book.store == nil || len(list) == 0 {
		return nil
	}
	saved, err := in.s.book.store.AddFilms(context.Background(), list, in.s.stamp())
	if err == nil {
		in.saved(list, saved, nil)
	}
	return err
}

// tell says that films wait, and whose they are, once for all that came together.
func (in *Intake) tell() {
	if in.news == 0 {
		return
	}
	in.news = 0
	var names []string
	n := 0
	for _, p := range in.Piles() {
		if p.Waits == study.NotSorted {
			n += len(p.Films)
			names = append(names, p.Name())
		}
	}
	if n > 0 {
		in.s.Say("%s", say("waits.among-hips", "N", n, "Names", SomeOf(names, "; ")))
	}
}

// index returns the place of the film that waits with a picture, or -1.
func (in *Intake) index(picture study.Facts) int {
	return slices.IndexFunc(in.films, func(g study.Film) bool { return g.Facts.SamePicture(picture) })
}

// forget drops the films that wait; a study keeps its own.
func (in *Intake) forget() { in.films, in.disputes = nil, nil }

// load reads the films that wait in the study.
func (in *Intake) load() error {
	list, err := in.s.book.store.Unsorted(context.Background())
	known := map[string]bool{}
	for _, f := range in.films {
		known[f.ID] = true
	}
	for _, f := range list {
		if (f.Waits == study.NotSorted || f.Waits == study.NotAP) && !known[f.ID] {
			in.films = append(in.films, f)
		}
	}
	return err
}
