package session

import (
	"context"
	"strings"

	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
)

// Add reads the named films, and those in the named folders, in the background.
func (t *Strip) Add(paths []string) { t.add(paths, false) }

// add is Add; said, where something has been said of the films already.
func (t *Strip) add(paths []string, said bool) {
	if len(paths) == 0 {
		return
	}
	t.s.work.listing++
	t.s.work.queue.Start(jobs.Job{Dropped: func() { t.s.work.listing-- }, Run: func(context.Context, jobs.Step) func() {
		list, passed := source.Sort(paths)
		list, own := source.Results(list)
		list, passed = source.EachFrame(list), append(passed, own...)
		return func() { t.added(list, passed, said) }
	}})
}

// added puts films into the strip once there is a study for them.
func (t *Strip) added(list []source.File, passed []study.Note, said bool) {
	var films []string
	for _, file := range list {
		if file.Fault.IsZero() {
			films = append(films, source.Whole(file.Path))
		}
	}
	t.s.book.ready(films, func(more bool) {
		t.s.work.listing--
		if err := t.s.book.Hidden(); err != nil { // films are shown with numbers
			t.s.Say("%s", study.Told(err))
			t.s.work.settle()
			t.s.changed(WorkChanged)
			return
		}
		t.take(list, passed, said || more)
	})
}

// take puts films into the strip that it does not have, and says what is wrong with the
// others and what was passed over; said, where something has been said of them already.
func (t *Strip) take(list []source.File, passed []study.Note, said bool) {
	open := map[string]bool{}
	for _, f := range t.films {
		open[f.Path] = true
	}
	n, frames := 0, 0
	var faults []string
	for _, file := range list {
		if !file.Fault.IsZero() {
			faults = append(faults, file.Path+": "+study.NoteWords(file.Fault))
			continue
		}
		p := source.Whole(file.Path) // the study must find it from any working folder
		if open[p] {
			continue
		}
		open[p] = true
		if source.FileOf(p) != p {
			frames++
		}
		f := &Film{Film: study.Film{ID: p, Path: p}}
		t.put(f)
		t.s.work.need(f)
		n++
	}
	switch {
	case len(faults) > 0:
		t.s.Say("%s", strings.Join(faults, "; "))
	case len(passed) > 0:
		t.s.Say("%s", say("strip.passed-over", "What", study.PassedWords(passed)))
	case said:
	case frames > 0:
		t.s.Say("%s", study.NoteWords(study.Note{Code: "frames.films", Values: study.Values{"N": float64(frames)}}))
	case n == 0:
		t.s.Say("%s", say("strip.open-already"))
	default:
		t.s.Say("%s", "")
	}
	t.sort()
	t.s.changed(FilmsChanged)
	if n > 0 {
		t.s.intake.seeing.Passed = append(t.s.intake.seeing.Passed, passed...)
	} else {
		t.s.work.settle() // what was held back until now
	}
}
