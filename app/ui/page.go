package ui

import (
	"fyne.io/fyne/v2"

	"linerwatch/app/session"
)

// page fills the window, one at a time.
type page interface {
	widget() fyne.CanvasObject
	ready() bool            // whether there is something to show
	hears() session.Change  // what it is told of while it is in front
	heard(c session.Change) // shows what has changed
	keys() []keyRow         // that do something while it is in front
	front(on bool)          // it comes to the front, or goes behind
}

// pageKind registers a page: its word in the navigation, the key that turns to it
// and what the help says of that, and the page itself. It is made once the first
// screen has been painted.
type pageKind struct {
	word  string
	turns key
	does  string
	home  bool // the others give way to it
	faces bool // a patient sees it
	fill  func(w *window) page
}

// pageKinds are the pages in the order of their buttons. The audit trail and printed reports
// will stand between the hip and the patient.
func pageKinds() []pageKind {
	return []pageKind{
		hipsKind(),
		hipKind(),
		filmsKind(),
		trendKind(),
		patientKind(),
		copiesKind(),
		listsKind(),
		agreementKind(),
	}
}

// basis is what most pages are alike in: they show numbers of a hip.
type basis struct {
	object fyne.CanvasObject
	w      *window
}

func (b *basis) widget() fyne.CanvasObject { return b.object }

func (b *basis) ready() bool {
	_, known := b.w.s.Hip()
	return known
}

func (b *basis) hears() session.Change {
	return session.TrendChanged | session.SelectedChanged | session.FilmsChanged | session.HipChanged | session.StudyChanged | session.OverviewChanged
}

func (b *basis) keys() []keyRow { return nil }

func (b *basis) front(bool) {}
