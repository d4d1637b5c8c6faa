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
	hipsPageOf
	hipPageOf
	trendPage
	patientPage
)

// pageOrder is that of the buttons. Reading lists, the audit trail and printed
// reports will stand between the hip and the patient.
var pageOrder = []page{hipsPageOf, hipPageOf, readPage, trendPage, patientPage}

// String returns the page's name as its button shows it.
func (p page) String() string {
	return [...]string{"Read", "Hips", "Hip", "Trend", "For the patient"}[p]
}

// has reports whether there is something to show on a page: the hips of a study
// file, or a hip.
func (w *window) has(p page) bool {
	_, known := w.s.Hip()
	return known || p == hipsPageOf && w.s.StudyPath() != ""
}

// turn shows a page; the one that is shown already gives way to the films.
func (w *window) turn(p page) {
	if p == w.page {
		p = readPage
	}
	if p != readPage && !w.has(p) {
		return
	}
	w.page = p
	if p == patientPage {
		w.plain.ask.SetChecked(false) // arithmetic about the future only by choice, each time
	}
	show(w.work, p == readPage)
	show(w.hips.object, p == hipsPageOf)
	show(w.hip.object, p == hipPageOf)
	show(w.course.object, p == trendPage)
	show(w.plain.object, p == patientPage)
	show(w.bar.object, p != patientPage)
	show(w.status.object, p != patientPage)
	w.win.SetFullScreen(p == patientPage)
	w.showPages()
	w.bar.show()
	w.status.show()
	if p != readPage {
		w.win.Canvas().Unfocus() // keys go to the page
	}
	w.focusViewer()
}

// turnKey turns to the page that a key stands for.
func (w *window) turnKey(k fyne.KeyName) bool {
	switch k {
	case fyne.KeyF2:
		w.turn(hipsPageOf)
	case fyne.KeyF3:
		w.turn(hipPageOf)
	default:
		return false
	}
	return true
}

// pageLetter reports whether a letter does something on a page other than the
// films'.
func (w *window) pageLetter(r rune) bool {
	switch r {
	case '?', 'p', 'P', 'v', 'V':
		return true
	case '/':
		if w.page == hipsPageOf {
			w.win.Canvas().Focus(w.hips.find)
		}
	}
	return false
}

// showPages shows what has changed on the page in front.
func (w *window) showPages() {
	switch w.page {
	case hipsPageOf:
		w.hips.show()
	case hipPageOf:
		w.hip.show()
	case trendPage:
		w.course.show()
	case patientPage:
		w.plain.show()
	}
}

// pageKey acts on a key of a page that is not the films'; it reports whether the
// films are to have it.
func (w *window) pageKey(k fyne.KeyName) bool {
	if w.page == hipsPageOf && w.hips.key(k) || w.page == hipPageOf && w.hip.key(k) {
		return false
	}
	switch k {
	case fyne.KeyEscape, fyne.KeyReturn, fyne.KeyEnter:
		w.turn(readPage)
	case fyne.KeyPageUp, fyne.KeyPageDown, fyne.KeyHome, fyne.KeyEnd:
		return w.page == trendPage || w.page == hipPageOf
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
