package ui

import (
	"errors"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// readList shows a reading list in place of all else: a window of its own session, which
// knows nothing but the film that is read, stands where this one stood until it is left. It
// returns that window; nil where the list cannot be read, which is told.
func (w *window) readList(id string) *window {
	s, err := w.s.Book().ReadList(id)
	if err != nil {
		w.told(err)
		return nil
	}
	w.tip.hide()
	w.away = true
	l := &window{win: w.win, s: s, later: w.later, kinds: []pageKind{blindKind()}, doubts: map[*session.Film]bool{}, behind: w}
	l.fill()
	l.focusViewer()
	return l
}

// listsFirst turns to the lists where the study is shown by them, and reports whether it is.
func (w *window) listsFirst() bool {
	if w.pages == nil || !w.s.Book().ListsFirst() {
		return false
	}
	w.refresh() // the first screen gives way
	w.toLists()
	return true
}

// toLists turns to the page of lists.
func (w *window) toLists() {
	if at := w.placeOf(listsKind().word); at >= 0 && at != w.at {
		w.turn(at)
	}
}

// openHip opens a hip of the study and then calls then. Where that ends the reader's blinding
// on a list, or others read lists blind, the reader is asked; where nobody has said who reads, the
// page that asks is shown.
func (w *window) openHip(id string, then func()) {
	err := w.s.OpenHip(id)
	var mine *session.BlindingError
	var hidden *session.HiddenError
	switch {
	case errors.As(err, &hidden):
		w.withNumbers(func() { w.openHip(id, then) })
	case errors.As(err, &mine):
		w.ask(say("blind.ask-end-title"), texts.Say("blind.ask-end", texts.Values{"Lists": strings.Join(mine.Lists, ", ")}), answer{texts.Say("blind.end-and-open", nil), func() {
			if err := w.s.Book().Uncover(mine.Lists); err != nil {
				w.told(err)
				return
			}
			w.openHip(id, then)
		}}, answer{texts.Say("button.go-back", nil), nil})
	case err != nil:
		if errors.Is(err, session.ErrWhoReads) {
			w.toLists()
		}
		w.told(err)
	default:
		then()
	}
}

// openList opens a study on one of its lists: nothing of the study is shown before.
func (w *window) openList(cfg Config) {
	if err := w.s.SetReader(cfg.Reader); err != nil {
		w.told(err)
		return
	}
	w.s.Book().Open(cfg.Study, func(err error) {
		if err != nil {
			w.askOther(cfg.Study, err)
			return
		}
		if w.refresh(); w.readList(cfg.List) == nil {
			w.listsFirst()
		}
	})
}

// blind reports whether the window shows a reading list and nothing else.
func (w *window) blind() bool { return w.s.Blind() != nil }

// leaveList ends the reading and shows the study again, where it was. Outlines that are not
// accepted are kept; of a list that is closed they are of no use any more, which is asked about.
func (w *window) leaveList(then func()) {
	if w.s.Strip().Unsaved() > 0 && w.s.Blind().Closed() {
		w.ask(texts.Say("blind.leave", nil), texts.Say("blind.leave-closed", nil),
			answer{texts.Say("blind.leave-now", nil), func() { w.endList(then) }}, answer{texts.Say("button.go-back", nil), nil})
		return
	}
	w.endList(then)
}

func (w *window) endList(then func()) {
	w.away = true
	p := w.behind
	err := errors.Join(w.s.Close(), p.s.Book().EndList())
	p.away = false
	p.at = p.home()
	p.fill()
	p.told(err)
	if at := p.placeOf(listsKind().word); at >= 0 {
		p.turn(at)
	}
	then()
}

// blindPage is where a list is read: the film, and beside it what is told of it.
type blindPage struct {
	filmsPage
	panel *blindPanel
}

func blindKind() pageKind {
	return pageKind{word: say("page.films.name"), home: true, turns: key{label: say("tool.escape"), names: []fyne.KeyName{fyne.KeyEscape}}, does: say("blind.back-to-film"),
		fill: func(w *window) page { return newBlindPage(w) }}
}

func newBlindPage(w *window) *blindPage {
	p := &blindPage{filmsPage: filmsPage{basis: basis{w: w}}}
	w.films = &p.filmsPage
	p.view, p.panel = newViewer(w), newBlindPanel(w)
	p.object = container.NewBorder(nil, nil, nil, p.panel.object, p.view.object)
	return p
}

// heard implements page.
func (p *blindPage) heard(session.Change) {
	p.view.show()
	p.panel.show()
}

// keys implements page.
func (p *blindPage) keys() []keyRow {
	l := p.w.s.Blind()
	grade := func(r rune, quality string) key {
		return letter(r, func() { p.w.told(l.SetGrade(quality, p.panel.reasonCode())) })
	}
	rows := []keyRow{
		{does: say("blind.quality-does"), keys: []key{grade('4', "A"), grade('5', "B"), grade('6', "C")}},
		{does: say("blind.cannot-does"), keys: []key{letter('X', p.panel.askExclude)}},
		{does: say("blind.off-does"), keys: []key{letter('Q', p.panel.putOff)}},
	}
	for _, more := range [][]keyRow{p.outlineKeys(), p.drawingKeys(), p.seeingKeys()} {
		rows = append(rows, more...)
	}
	return append(rows, keyRow{does: say("blind.outlines-does"), keys: []key{letter('O', func() { p.view.toggle(&p.view.layers.outlines) }).in(seeOutlines, say("tool.outlines"))}},
		keyRow{does: say("blind.put-away"), keys: []key{named(say("tool.escape"), p.putAway, fyne.KeyEscape)}})
}

// acceptListed saves the reading of a place of a list.
func (w *window) acceptListed() {
	if f := w.s.Strip().Selected(); f != nil && w.s.Blind().Grade().Quality != "" {
		if doubt := w.s.Doubt(f); doubt != "" && !w.doubts[f] {
			w.ask(say("ask.magnification"), doubt, answer{say("button.accept-all-the-same"), func() { w.doubts[f] = true; w.acceptListed() }}, answer{texts.Say("button.go-back", nil), nil})
			return
		}
	}
	if err := w.s.Accept(); err != nil {
		w.s.Say("%s", say("accept.refused", "Why", study.Told(err)))
	}
	w.focusViewer()
}

// overText says that nothing is left to read now, and why.
func overText(l *session.Blind) string {
	due, over := l.Over()
	off := float64(l.PutOff())
	switch {
	case !over:
		return ""
	case !due.IsZero():
		return texts.Say("blind.due", texts.Values{"Date": due.Local().Format(time.DateOnly), "Off": off})
	case off > 0:
		return texts.Say("blind.put-off", texts.Values{"N": off})
	}
	return texts.Say("blind.over", nil)
}

// blindBar is the bar above a list that is read: how to leave it, and what can be undone.
func blindBar(b *toolbar) []fyne.CanvasObject {
	w := b.w
	leave := plain(w, texts.Say("blind.leave-button", nil), func() { w.leaveList(func() {}) })
	return []fyne.CanvasObject{leave, widget.NewSeparator(), b.undo, b.redo, layout.NewSpacer(), plain(w, say("button.keys"), w.showKeys)}
}

// progressWords says how far a list is.
func progressWords(l *session.Blind) string {
	done, of := l.Progress()
	return say("blind.done-of", "N", done, "Of", of)
}
