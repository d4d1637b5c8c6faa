package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"linerwatch/app/session"
)

// filmsPage is where films are read: the films in date order, the one in the viewer,
// its numbers, and the trend or what an outline rests on below.
type filmsPage struct {
	basis
	strip *strip
	view  *viewer
	side  *side
	trend *trendView
	proof *evidence
}

func filmsKind() pageKind {
	return pageKind{
		word: say("page.films.name"), home: true, fill: func(w *window) page { return newFilmsPage(w) },
		turns: key{label: say("tool.escape"), names: []fyne.KeyName{fyne.KeyEscape, fyne.KeyReturn, fyne.KeyEnter}},
		does:  say("page.films.does"),
	}
}

func newFilmsPage(w *window) *filmsPage {
	p := &filmsPage{basis: basis{w: w}, strip: newStrip(w.s), trend: newTrendView(w.s)}
	w.offersPicture(p.trend.chart, "-trend")
	w.films = p
	p.view, p.side, p.proof = newViewer(w), newSide(w), newEvidence(w)
	p.proof.object.Hide()
	middle := container.NewVSplit(p.view.object, container.NewStack(p.trend.object, p.proof.object))
	middle.SetOffset(0.7)
	p.object = container.NewBorder(nil, nil, p.strip.object, p.side.object, middle)
	return p
}

func (p *filmsPage) ready() bool { return true }

func (p *filmsPage) hears() session.Change { return session.Everything }

// heard shows what has changed, and no more: a picture is costly.
func (p *filmsPage) heard(c session.Change) {
	any := func(of session.Change) bool { return c&of != 0 }
	if any(session.FilmsChanged | session.SelectedChanged | session.HipChanged | session.StudyChanged) {
		p.strip.show()
	}
	if any(session.SelectedChanged | session.ViewChanged | session.OutlineChanged | session.TrendChanged) {
		p.view.show()
		if p.proof.object.Visible() {
			p.proof.show()
		}
	}
	if any(session.FilmsChanged | session.WorkChanged) {
		p.view.note.show(p.w.s)
	}
	if any(session.SelectedChanged | session.OutlineChanged | session.HipChanged | session.TrendChanged | session.FilmsChanged | session.StudyChanged | session.OverviewChanged) {
		p.side.show()
	}
	if any(session.TrendChanged | session.SelectedChanged | session.FilmsChanged) {
		p.trend.show()
	}
}

// toggleEvidence shows edge points on the film and their residuals below, or the
// trend again.
func (p *filmsPage) toggleEvidence() {
	p.showEvidence(!p.view.layers.edges)
	if p.view.layers.edges {
		p.proof.show()
	}
	p.view.pane.Redraw()
}

func (p *filmsPage) showEvidence(on bool) {
	p.view.layers.edges = on
	show(p.proof.object, on)
	show(p.trend.object, !on)
}
