package session

import (
	"slices"

	"linerwatch/app/study"
)

// Strip holds the films of the hip that is read, in date order, and which of them is
// selected. Films come into it and go out of it here.
type Strip struct {
	s *Session

	films    []*Film
	selected *Film
	chosen   bool // by the reader
}

// Strip returns the films of the hip that is read.
func (s *Session) Strip() *Strip { return &s.strip }

// Films returns the films in date order, undated ones last.
func (t *Strip) Films() []*Film { return t.films }

// Selected returns the film in the viewer, or nil.
func (t *Strip) Selected() *Film { return t.selected }

// SelectedIndex returns the selected film's place in date order, or -1.
func (t *Strip) SelectedIndex() int { return t.index(t.selected) }

func (t *Strip) index(f *Film) int {
	for i, g := range t.films {
		if g == f {
			return i
		}
	}
	return -1
}

// ByID returns the film with the given ID, or nil.
func (t *Strip) ByID(id string) *Film {
	for _, f := range t.films {
		if f.ID == id {
			return f
		}
	}
	return nil
}

func (t *Strip) byPath(path string) *Film {
	for _, f := range t.films {
		if f.Path == path {
			return f
		}
	}
	return nil
}

// label names a film in the history: "film 3".
func (t *Strip) label(f *Film) string { return say("strip.label", "N", t.number(f)) }

// number is what a film is called by: its place in the strip, from 1, or in the list.
func (t *Strip) number(f *Film) int {
	if l := t.s.blind; l != nil {
		return l.place
	}
	return t.index(f) + 1
}

// Unsaved returns the number of films whose outlines the reader has changed but
// not accepted.
func (t *Strip) Unsaved() int {
	n := 0
	for _, f := range t.films {
		if f.State() == Edited {
			n++
		}
	}
	return n
}

// Select shows film i, and takes back what was said of the one before. Places outside
// the strip are ignored.
func (t *Strip) Select(i int) {
	t.chosen = true
	if before := t.selected; t.show(i) && before != nil {
		t.s.outdateAll()
	}
}

// show is Select without a wish of the reader's: what the reader was told meanwhile stays.
// It reports whether another film is shown.
func (t *Strip) show(i int) bool {
	if i < 0 || i >= len(t.films) || t.films[i] == t.selected {
		return false
	}
	t.s.mouse.CancelTool()
	t.selected = t.films[i]
	t.s.work.queue.Prefer(t.selected)
	t.s.mouse.letGo()
	t.s.viewer.aim(t.selected)
	t.s.work.need(t.selected)
	t.s.decoded.tend()
	t.s.changed(SelectedChanged | ViewChanged | OutlineChanged)
	return true
}

// SelectFilm shows the film with the given ID.
func (t *Strip) SelectFilm(id string) {
	for i, f := range t.films {
		if f.ID == id {
			t.Select(i)
			return
		}
	}
}

// Step selects the film n places later in time, or earlier for a negative n.
func (t *Strip) Step(n int) {
	if len(t.films) == 0 {
		return
	}
	t.Select(min(max(t.SelectedIndex()+n, 0), len(t.films)-1))
}

// NextPending selects the next film, in time and then from the start, that waits
// for its reader. It reports whether there is one. What was said of the film before
// stays.
func (t *Strip) NextPending() bool {
	n := len(t.films)
	for k := 1; k <= n; k++ {
		i := (t.SelectedIndex() + k) % n
		switch t.films[i].State() {
		case Proposed, Edited, Refused, Searching, Loaded:
			said := t.s.notice
			t.Select(i)
			t.s.notice = said
			return true
		}
	}
	return false
}

// SelectWaiting selects the first film that waits for its reader, where the selected one
// does not.
func (t *Strip) SelectWaiting() {
	if i := slices.IndexFunc(t.films, (*Film).waits); i >= 0 && (t.selected == nil || !t.selected.waits()) {
		t.Select(i)
	}
}

// showFirst shows the first film that waits for its reader, of those that can be shown;
// else the first of those.
func (t *Strip) showFirst(can func(*Film) bool) {
	i := slices.IndexFunc(t.films, func(f *Film) bool { return can(f) && f.waits() })
	if i < 0 {
		i = slices.IndexFunc(t.films, can)
	}
	t.show(i)
}

// put adds a film, behind the others until they are sorted.
func (t *Strip) put(f *Film) { t.films = append(t.films, f) }

// empty takes all films out to make room for those of another hip.
func (t *Strip) empty() { t.films, t.selected, t.chosen = nil, nil, false }

// sort puts the films in date order.
func (t *Strip) sort() {
	slices.SortStableFunc(t.films, func(a, b *Film) int { return study.UndatedLast(a.Film, b.Film) })
}

// Remove takes a film out of the strip, as one named step. One that has been read, if
// only by readings that were withdrawn, stays: the study keeps them with their film.
func (t *Strip) Remove(i int) {
	if i < 0 || i >= len(t.films) {
		return
	}
	f := t.films[i]
	if len(f.Readings) > 0 {
		t.s.Say("%s", say("strip.stays", "N", i+1))
		return
	}
	t.remove(study.Note{Code: "step.strip", Values: study.Values{"Film": f.Name()}}, f)
}

func (t *Strip) remove(name study.Note, films ...*Film) {
	if len(films) == 0 {
		return
	}
	each := func(do func(*Film)) {
		for _, f := range films {
			do(f)
		}
	}
	t.s.history.record(change{name: name, again: func(undo bool) error {
		if undo {
			each(t.putBack)
		} else {
			each(t.takeOut)
		}
		return nil
	}})
	each(t.takeOut)
}

func (t *Strip) takeOut(f *Film) {
	i := t.index(f)
	if i < 0 {
		return
	}
	shown := t.drop(f)
	t.s.drafts.forget(f)
	if shown && len(t.films) > 0 {
		t.Select(min(i, len(t.films)-1))
	}
	t.s.decoded.tend()
	t.s.course.renew()
	t.s.changed(Everything)
}

// drop is the one way out of the strip, for whatever reason. It reports whether f was
// selected: then no film is until its caller shows one.
func (t *Strip) drop(f *Film) (shown bool) {
	t.films = slices.DeleteFunc(slices.Clone(t.films), func(g *Film) bool { return g == f })
	t.s.work.queue.CancelFor(f)
	f.pixels = nil // read again where it comes back
	if shown = f == t.selected; shown {
		t.selected = nil
	}
	return shown
}

// putBack puts a film back that was taken out of the strip.
func (t *Strip) putBack(f *Film) {
	if t.byPath(f.Path) == nil {
		t.put(f)
		t.sort()
		if f.Facts.SHA256 != "" {
			t.s.drafts.keep(f)
		}
	}
	t.Select(t.index(t.byPath(f.Path)))
	t.s.work.need(f)
	t.s.course.renew()
	t.s.changed(Everything)
}
