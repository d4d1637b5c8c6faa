package ui

import (
	"fyne.io/fyne/v2"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// The steps of a nudge, in film pixels.
const (
	fine   = 0.1
	coarse = 1
)

// rimStep is how far the loupe goes along a rim, degrees.
const rimStep = 5

// stepRows are the keys that go from film to film.
func (w *window) stepRows() []keyRow {
	return []keyRow{
		{does: "film before, film after", keys: []key{
			named("Page Up", func() { w.s.Strip().Step(-1) }, fyne.KeyPageUp),
			named("Page Down", func() { w.s.Strip().Step(1) }, fyne.KeyPageDown),
		}},
		{does: "first film, last film", keys: []key{
			named("Home", func() { w.s.Strip().Select(0) }, fyne.KeyHome),
			named("End", func() { w.s.Strip().Select(len(w.s.Strip().Films()) - 1) }, fyne.KeyEnd),
		}},
	}
}

func (p *filmsPage) keys() []keyRow {
	rows := p.w.stepRows()
	for _, more := range [][]keyRow{p.outlineKeys(), p.drawingKeys(), p.pictureKeys(), p.layerKeys()} {
		rows = append(rows, more...)
	}
	return rows
}

// outlineKeys accept and move the outlines.
func (p *filmsPage) outlineKeys() []keyRow {
	s := p.w.s
	nudge := func(label string, dx, dy float64, k fyne.KeyName) key {
		return key{label: label, names: []fyne.KeyName{k},
			do: func() { s.Edits().Nudge(fine*dx, fine*dy) }, shifted: func() { s.Edits().Nudge(coarse*dx, coarse*dy) }}
	}
	return []keyRow{
		{does: "accept the reading and go on to the next film", keys: []key{
			named("Enter", p.w.accept, fyne.KeyReturn, fyne.KeyEnter).in(acceptReading, ""),
		}},
		{does: "keys act on the head, on the cup", keys: []key{
			letter('H', func() { s.Edits().SetPart(session.Head) }).in(chooseHead, "Head"),
			letter('C', func() { s.Edits().SetPart(session.Cup) }).in(chooseCup, "Cup"),
		}},
		{does: "nudge by 0.1 px; with Shift by 1 px", keys: []key{
			nudge("Arrow keys", -1, 0, fyne.KeyLeft), nudge("", 1, 0, fyne.KeyRight),
			nudge("", 0, -1, fyne.KeyUp), nudge("", 0, 1, fyne.KeyDown),
		}},
		{does: "radius by 0.1 px", keys: []key{
			{label: "+", runes: "+=", do: func() { s.Edits().Grow(fine) }},
			{label: "-", runes: "-", do: func() { s.Edits().Grow(-fine) }},
		}},
	}
}

// drawingKeys draw outlines and lines, and search.
func (p *filmsPage) drawingKeys() []keyRow {
	s := p.w.s
	tool := func(r rune, t session.Tool) key { return letter(r, func() { s.Mouse().SetTool(t) }) }
	return []keyRow{
		{does: "draw the chosen outline by three clicks; the cup's wire ring by three clicks", keys: []key{
			tool('A', session.CircleTool).in(drawCircle, "The chosen outline by three clicks"),
			tool('W', session.RingTool).in(drawRing, "A wire ring by three clicks"),
		}},
		{does: "reference line, rim line of the cup: two clicks each, or one drag", keys: []key{
			tool('J', session.LineTool).in(drawLine, "The reference line by two clicks"),
			tool('U', session.RimTool).in(drawRim, "The rim line by two clicks"),
		}},
		{does: "the search's next proposal for this film", keys: []key{
			letter('2', s.Edits().NextProposal).in(nextProposal, "The search's next proposal"),
		}},
		{does: "refine the chosen outline to the edge", keys: []key{letter('R', s.Edits().Refine).in(refineOutline, "Refine")}},
		{does: "refine both outlines", keys: []key{letter('B', s.Edits().RefineBoth)}},
	}
}

// pictureKeys change what is seen of the film, and whether it counts.
func (p *filmsPage) pictureKeys() []keyRow {
	return append(p.seeingKeys(),
		keyRow{does: "leave the film out of the trend, with a reason; again to take it back in", keys: []key{letter('X', p.w.askExclude).in(leaveOut, "")}},
		keyRow{does: "mark the film as lateral, or as AP again", keys: []key{
			letter('Y', p.toggleLateral).in(markLateral, "This is a lateral film"),
		}})
}

// seeingKeys change what is seen of the film.
func (p *filmsPage) seeingKeys() []keyRow {
	s := p.w.s
	loupe := key{label: "Q", names: []fyne.KeyName{fyne.KeyQ}, do: s.Viewer().ToggleLoupe, down: p.view.loupeDown, up: p.view.loupeUp}
	walk := func(label, r string, by float64) key {
		return key{label: label, short: r, runes: r, do: func() { s.Viewer().WalkRim(by) }}
	}
	return []keyRow{
		{does: "whole film, hip, one film pixel per screen pixel", keys: []key{
			letter('F', s.Viewer().ShowFilm).in(seeFilm, "Whole film"), letter('Z', s.Viewer().ShowHip).in(seeHip, "Hip"),
			letter('1', s.Viewer().ShowPixels).in(seePixels, "1:1"),
		}},
		{does: "invert; greys of the whole film, bone, metal, through the shell", keys: []key{
			letter('I', s.Viewer().ToggleInvert).in(greysInvert, "Invert"), letter('L', s.Viewer().ResetLevel).in(greysFilm, "Whole film"),
			letter('N', s.Viewer().ShowBone).in(greysBone, "Bone"), letter('M', s.Viewer().ShowMetal).in(greysMetal, "Metal"),
			letter('T', s.Viewer().ShowThroughShell).in(greysShell, "Through the shell"),
		}},
		{does: "local contrast inside the cup, for the head behind the shell", keys: []key{
			letter('S', s.Viewer().ToggleLocal).in(greysLocal, "Local contrast inside the cup"),
		}},
		{does: "loupe at the pointer; held, it shows as long", keys: []key{loupe.in(loupePointer, "Loupe at the pointer")}},
		{does: "loupe on the rim of the chosen outline; on along it by 5°", keys: []key{
			walk("Comma", ",", -rimStep).in(loupeBack, ""), walk("full stop", ".", rimStep).in(loupeOn, ""),
		}},
	}
}

// layerKeys show what is drawn over the film and said of it.
func (p *filmsPage) layerKeys() []keyRow {
	l := &p.view.layers
	return []keyRow{
		{does: "outlines; edge points and residuals; the head at the baseline", keys: []key{
			letter('O', func() { p.view.toggle(&l.outlines) }).in(seeOutlines, "Outlines"),
			letter('E', p.toggleEvidence).in(seeEdges, "Edge points and residuals"),
			letter('G', func() { p.view.toggle(&l.noGhost) }).in(seeBaseline, "Head at the baseline"),
		}},
		{does: "details of the film: scale, magnification, change against the baseline, what to do", keys: []key{letter('D', p.w.showFacts)}},
		{does: "compare with the baseline: side by side, blend, wipe, flicker; swap", keys: []key{
			letter('K', p.nextCompare).in(compareNext, "The next of these"),
			{label: "Space", runes: " ", do: p.swap},
		}},
		{does: "put away a tool, the loupe or the comparison", keys: []key{named("Escape", p.putAway, fyne.KeyEscape)}},
	}
}

// putAway ends what is in hand: a tool, else the loupe, else the comparison.
func (p *filmsPage) putAway() {
	s := p.w.s
	at, _, _ := s.Viewer().Loupe()
	switch {
	case s.Mouse().CancelTool():
	case at != session.NoLoupe:
		s.Viewer().SetLoupe(session.NoLoupe)
	case s.Viewer().Compare() != session.Alone:
		s.Viewer().SetCompare(session.Alone)
	}
}

// toggleLateral marks the film as lateral, or as AP.
func (p *filmsPage) toggleLateral() {
	s := p.w.s
	v := study.Lateral
	if s.View(s.Strip().Selected()) == study.Lateral {
		v = study.AP
	}
	p.w.told(s.Given().SetView(v))
}

// nextCompare goes through the ways of comparing films, and back to one film.
func (p *filmsPage) nextCompare() {
	p.w.s.Viewer().SetCompare((p.w.s.Viewer().Compare() + 1) % (session.Flicker + 1))
}

// swap shows the other one of two films that flicker.
func (p *filmsPage) swap() {
	if p.w.s.Viewer().Compare() == session.Flicker {
		p.view.toggle(&p.view.layers.swapped)
	}
}
