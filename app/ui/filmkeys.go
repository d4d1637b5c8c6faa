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
		{does: say("tool.film-before-film"), keys: []key{
			named(say("tool.page-up"), func() { w.s.Strip().Step(-1) }, fyne.KeyPageUp),
			named(say("tool.page-down"), func() { w.s.Strip().Step(1) }, fyne.KeyPageDown),
		}},
		{does: say("tool.first-film-last"), keys: []key{
			named(say("tool.home"), func() { w.s.Strip().Select(0) }, fyne.KeyHome),
			named(say("tool.end"), func() { w.s.Strip().Select(len(w.s.Strip().Films()) - 1) }, fyne.KeyEnd),
		}},
	}
}

func (p *filmsPage) keys() []keyRow {
	grade := func(r rune, quality string) key { return letter(r, func() { p.side.grade.give(quality) }) }
	rows := append(p.w.stepRows(), keyRow{does: say("grade.does"), keys: []key{grade('4', "A"), grade('5', "B"), grade('6', "C")}})
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
		{does: say("tool.accept-reading-go"), keys: []key{
			named(say("tool.enter"), p.w.accept, fyne.KeyReturn, fyne.KeyEnter).in(acceptReading, ""),
		}},
		{does: say("tool.keys-act-head"), keys: []key{
			letter('H', func() { s.Edits().SetPart(session.Head) }).in(chooseHead, say("tool.head")),
			letter('C', func() { s.Edits().SetPart(session.Cup) }).in(chooseCup, say("tool.cup")),
		}},
		{does: say("tool.nudge-px-shift"), keys: []key{
			nudge(say("tool.arrow-keys"), -1, 0, fyne.KeyLeft), nudge("", 1, 0, fyne.KeyRight),
			nudge("", 0, -1, fyne.KeyUp), nudge("", 0, 1, fyne.KeyDown),
		}},
		{does: say("tool.radius-px"), keys: []key{
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
		{does: say("tool.draw-chosen-outline"), keys: []key{
			tool('A', session.CircleTool).in(drawCircle, say("tool.chosen-outline-three")),
			tool('W', session.RingTool).in(drawRing, say("tool.wire-ring-three")),
		}},
		{does: say("tool.reference-line-rim"), keys: []key{
			tool('J', session.LineTool).in(drawLine, say("tool.reference-line-two")),
			tool('U', session.RimTool).in(drawRim, say("tool.rim-line-two")),
		}},
		{does: say("tool.next-proposal-does"), keys: []key{
			letter('2', s.Edits().NextProposal).in(nextProposal, say("tool.next-proposal")),
		}},
		{does: say("tool.refine-chosen-outline"), keys: []key{letter('R', s.Edits().Refine).in(refineOutline, say("tool.refine"))}},
		{does: say("tool.refine-both-outlines"), keys: []key{letter('B', s.Edits().RefineBoth)}},
	}
}

// pictureKeys change what is seen of the film, and whether it counts.
func (p *filmsPage) pictureKeys() []keyRow {
	return append(p.seeingKeys(),
		keyRow{does: say("tool.leave-film-out"), keys: []key{letter('X', p.w.askExclude).in(leaveOut, "")}},
		keyRow{does: say("tool.mark-film-as"), keys: []key{
			letter('Y', p.toggleLateral).in(markLateral, say("tool.lateral-film")),
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
		{does: say("tool.whole-film-hip"), keys: []key{
			letter('F', s.Viewer().ShowFilm).in(seeFilm, say("tool.whole-film")), letter('Z', s.Viewer().ShowHip).in(seeHip, say("tool.hip")),
			letter('1', s.Viewer().ShowPixels).in(seePixels, "1:1"),
		}},
		{does: say("tool.invert-greys-whole"), keys: []key{
			letter('I', s.Viewer().ToggleInvert).in(greysInvert, say("tool.invert")), letter('L', s.Viewer().ResetLevel).in(greysFilm, say("tool.greys-whole-film")),
			letter('N', s.Viewer().ShowBone).in(greysBone, say("tool.bone")), letter('M', s.Viewer().ShowMetal).in(greysMetal, say("tool.metal")),
			letter('T', s.Viewer().ShowThroughShell).in(greysShell, say("tool.through-shell")),
		}},
		{does: say("tool.local-contrast-inside"), keys: []key{
			letter('S', s.Viewer().ToggleLocal).in(greysLocal, say("tool.local-contrast")),
		}},
		{does: say("tool.loupe-pointer-held"), keys: []key{loupe.in(loupePointer, say("tool.loupe-pointer"))}},
		{does: say("tool.loupe-rim-chosen"), keys: []key{
			walk(say("tool.comma"), ",", -rimStep).in(loupeBack, ""), walk(say("tool.full-stop"), ".", rimStep).in(loupeOn, ""),
		}},
	}
}

// layerKeys show what is drawn over the film and said of it.
func (p *filmsPage) layerKeys() []keyRow {
	l := &p.view.layers
	return []keyRow{
		{does: say("tool.outlines-does"), keys: []key{
			letter('O', func() { p.view.toggle(&l.outlines) }).in(seeOutlines, say("tool.outlines")),
			letter('E', p.toggleEvidence).in(seeEdges, say("tool.edge-points-residuals")),
			letter('G', func() { p.view.toggle(&l.noGhost) }).in(seeBaseline, say("tool.head-baseline")),
		}},
		{does: say("tool.details-film-scale"), keys: []key{letter('D', p.w.showFacts)}},
		{does: say("tool.compare-baseline-side"), keys: []key{
			letter('K', p.nextCompare).in(compareNext, say("tool.next-these")),
			{label: say("tool.space"), runes: " ", do: p.swap},
		}},
		{does: say("tool.put-away-tool"), keys: []key{named(say("tool.escape"), p.putAway, fyne.KeyEscape)}},
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
