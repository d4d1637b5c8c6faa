package session

import (
	"context"
	"strings"

	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
)

// Add reads the named films, and those in the named folders, in the background.
// A study file among them is opened.
func (s *Session) Add(paths []string) {
	var rest []string
	for _, p := range paths {
		if study.IsFile(p) {
			if err := s.OpenStudy(p); err != nil {
				s.Say("%s", study.Plain(err))
			}
			continue
		}
		rest = append(rest, p)
	}
	if len(rest) == 0 {
		return
	}
	s.work.queue.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() {
		list := source.Expand(rest)
		return func() { s.added(list) }
	}})
}

func (s *Session) added(list []source.File) {
	open := map[string]bool{}
	for _, f := range s.films {
		open[f.Path] = true
	}
	n := 0
	var faults []string
	for _, file := range list {
		if file.Fault != "" {
			faults = append(faults, file.Path+": "+file.Fault)
			continue
		}
		p := source.Whole(file.Path) // the study must find it from any working folder
		if open[p] {
			continue
		}
		open[p] = true
		f := &Film{Film: study.Film{ID: p, Path: p}}
		s.films = append(s.films, f)
		s.work.need(f)
		n++
	}
	switch {
	case len(faults) > 0:
		s.Say("%s", strings.Join(faults, "; "))
	case n == 0:
		s.Say("These films are open already.")
	default:
		s.Say("%s", "")
	}
	s.sort()
	s.changed(FilmsChanged)
}

func (s *Session) byPath(path string) *Film {
	for _, f := range s.films {
		if f.Path == path {
			return f
		}
	}
	return nil
}

// Remove takes a film out of the strip, as one named step. One that has been read, if
// only by readings that were withdrawn, stays: the study keeps them with their film.
func (s *Session) Remove(i int) {
	if i < 0 || i >= len(s.films) {
		return
	}
	f := s.films[i]
	if len(f.Readings) > 0 {
		s.Say("Film %d stays in the strip: the study keeps its readings, withdrawn ones as well. X leaves it out of the trend.", i+1)
		return
	}
	s.remove("take "+f.Name()+" out of the strip", f)
}

func (s *Session) remove(name string, films ...*Film) {
	if len(films) == 0 {
		return
	}
	each := func(do func(*Film)) {
		for _, f := range films {
			do(f)
		}
	}
	s.history.record(change{name: name, again: func(undo bool) error {
		if undo {
			each(s.putBack)
		} else {
			each(s.takeOut)
		}
		return nil
	}})
	each(s.takeOut)
}

func (s *Session) takeOut(f *Film) {
	i := s.index(f)
	if i < 0 {
		return
	}
	s.films = append(s.films[:i:i], s.films[i+1:]...)
	s.work.queue.CancelFor(f)
	f.pixels = nil // read again where it is put back
	s.drafts.forget(f)
	if f == s.selected {
		s.selected = nil
		if len(s.films) > 0 {
			s.Select(min(i, len(s.films)-1))
		}
	}
	s.decoded.tend()
	s.retrend()
	s.changed(Everything)
}

// putBack puts a film back that was taken out of the strip.
func (s *Session) putBack(f *Film) {
	if s.byPath(f.Path) == nil {
		s.films = append(s.films, f)
		s.sort()
		if f.Facts.SHA256 != "" {
			s.drafts.keep(f)
		}
	}
	s.Select(s.index(s.byPath(f.Path)))
	s.work.need(f)
	s.retrend()
	s.changed(Everything)
}
