package ui

import (
	"fyne.io/fyne/v2"

	"linerwatch/app/session"
)

// page is what fills the window.
type page int

// The pages.
const (
	readPage page = iota
	trendPage
	patientPage
)

var pageOrder = []page{readPage, trendPage, patientPage}

// String returns the page's name as its button shows it.
func (p page) String() string { return [...]string{"Read", "Trend", "For the patient"}[p] }

// hasPages reports whether there is a hip to show.
func (w *window) hasPages() bool { _, known := w.s.Hip(); return known }

// turn shows a page; the one that is shown already gives way to the films.
func (w *window) turn(p page) {
	if p == w.page {
		p = readPage
	}
	if p != readPage && !w.hasPages() {
		return
	}
	w.page = p
	show(w.work, p == readPage)
	show(w.course.object, p == trendPage)
	show(w.plain.object, p == patientPage)
	show(w.bar.object, p != patientPage)
	show(w.status.object, p != patientPage)
	w.win.SetFullScreen(p == patientPage)
	w.showPages()
	w.bar.show()
	w.focusViewer()
}

// showPages shows what has changed on the page in front.
func (w *window) showPages() {
	switch w.page {
	case trendPage:
		w.course.show()
	case patientPage:
		w.plain.show()
	}
}

// pageKey acts on a key of a page that is not the films'; it reports whether the
// films are to have it.
func (w *window) pageKey(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyEscape, fyne.KeyReturn, fyne.KeyEnter:
		w.turn(readPage)
	case fyne.KeyPageUp, fyne.KeyPageDown, fyne.KeyHome, fyne.KeyEnd:
		return w.page == trendPage
	}
	return false
}

// toggleEvidence shows edge points on the film and their residuals below, or the
// trend again.
func (w *window) toggleEvidence() {
	on := !w.view.layers.edges
	w.view.layers.edges = on
	show(w.proof.object, on)
	show(w.trend.object, !on)
	if on {
		w.proof.show()
	}
	w.view.pane.Redraw()
}

// openFilmOf turns to the films and shows one of them.
func (w *window) openFilmOf(f *session.Film) {
	w.s.SelectFilm(f.ID)
	w.turn(readPage)
}
