package ui

import (
	"slices"

	"linerwatch/app/session"
)

// home returns the place of the page that the others give way to.
func (w *window) home() int {
	for i, k := range w.kinds {
		if k.home {
			return i
		}
	}
	return 0
}

// placeOf returns the place of the page that a word names.
func (w *window) placeOf(word string) int {
	return slices.IndexFunc(w.kinds, func(k pageKind) bool { return k.word == word })
}

// atHome reports whether the films are in front.
func (w *window) atHome() bool { return w.at == w.home() }

// turn shows a page by its place; the one that is shown already gives way to the
// films.
func (w *window) turn(at int) {
	if w.pages == nil {
		return // the first screen is still being made
	}
	if at == w.at {
		at = w.home()
	}
	if !w.pages[at].ready() {
		return
	}
	w.bring(at)
	w.pages[at].heard(session.Everything)
	w.bar.show()
	w.status.show()
	if !w.atHome() {
		w.win.Canvas().Unfocus() // keys go to the page
	}
	w.focusViewer()
}

// toFilms turns to the films.
func (w *window) toFilms() { w.turn(w.home()) }

// bring puts a page before the others.
func (w *window) bring(at int) {
	if at != w.at {
		w.tip.hide() // what it explains goes behind
		w.pages[w.at].front(false)
		w.at = at
		w.pages[at].front(true)
	}
	for i, p := range w.pages {
		show(p.widget(), i == at)
	}
}

// alone shows nothing of the tool beside the page, on the whole screen.
func (w *window) alone(on bool) {
	show(w.bar.object, !on)
	show(w.status.object, !on)
	w.win.SetFullScreen(on)
}

// openFilmOf turns to the films and shows one of them.
func (w *window) openFilmOf(f *session.Film) {
	w.s.Strip().SelectFilm(f.ID)
	w.toFilms()
}
