package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
)

// viewerNote stands in the middle of the viewer where there is no film to see: what
// is being done about it, or why it cannot be seen. While the film is searched it
// stands at the lower edge, over the film.
type viewerNote struct {
	object fyne.CanvasObject
	title  *canvas.Text
	line   *widget.Label
	bar    *canvas.Rectangle // of what is done
	track  *fyne.Container
	lost   *fyne.Container // what can be done about a film whose file is not where it was
	look   *widget.Button
	below  fyne.CanvasObject // pushes the note up to the middle
}

// The note's measures.
const (
	noteWidth = 380
	noteBar   = 4
)

func newViewerNote(w *window) *viewerNote {
	n := &viewerNote{title: canvas.NewText("", onFilm.Text), line: widget.NewLabel(""), bar: canvas.NewRectangle(onFilm.Accent)}
	n.title.TextSize, n.title.TextStyle.Bold, n.title.Alignment = 15, true, fyne.TextAlignCenter
	n.line.Wrapping, n.line.Alignment = fyne.TextWrapWord, fyne.TextAlignCenter
	rail := canvas.NewRectangle(onFilm.Hair)
	rail.SetMinSize(fyne.NewSize(noteWidth, noteBar))
	n.track = container.NewStack(rail, container.NewWithoutLayout(n.bar))
	back := canvas.NewRectangle(onFilm.Surface)
	back.CornerRadius, back.StrokeColor, back.StrokeWidth = 6, onFilm.Hair, 1
	again := widget.NewButton(say("button.try-again"), func() { w.s.Work().Retry(w.s.Strip().Selected()); w.focusViewer() })
	n.look = widget.NewButton(say("button.look-elsewhere"), w.lookIn)
	n.lost = container.NewHBox(layout.NewSpacer(), again, n.look, layout.NewSpacer())
	on := container.NewThemeOverride(container.NewVBox(n.line, n.lost), newOnFilmTheme())
	box := container.NewStack(back, container.New(layout.NewCustomPaddedLayout(12, 12, 18, 18),
		container.New(columnLayout{noteWidth}, container.New(layout.NewCustomPaddedVBoxLayout(4), n.title, on, n.track))))
	n.below = layout.NewSpacer()
	n.object = container.NewVBox(layout.NewSpacer(), container.NewHBox(layout.NewSpacer(), box, layout.NewSpacer()), n.below)
	return n
}

func (n *viewerNote) show(s *session.Session) {
	said := noteOf(s)
	show(n.object, said.title != "")
	if said.title == "" {
		return
	}
	n.title.Text = said.title
	n.title.Refresh()
	if n.line.Text != said.line {
		n.line.SetText(said.line)
	}
	show(n.line, said.line != "")
	f := s.Strip().Selected()
	show(n.lost, f != nil && f.Unreadable() && f.Pixels() == nil)
	show(n.look, f != nil && f.Lost() && s.Blind() == nil)
	done, total := s.Work().Progress()
	show(n.track, said.busy && total > 0)
	if total > 0 {
		n.bar.Resize(fyne.NewSize(noteWidth*float32(done)/float32(total), noteBar))
	}
	show(n.below, !said.low)
	n.object.Refresh()
}

// said is what a note says.
type said struct {
	title, line string
	busy        bool // something is being done about it
	low         bool // the film can be seen
}

// noteOf returns the note for the film in the viewer; its title is empty where there
// is nothing to say.
func noteOf(s *session.Session) said {
	f := s.Strip().Selected()
	opened, searched, n := 0, 0, len(s.Strip().Films())
	for _, g := range s.Strip().Films() {
		switch st := g.State(); {
		case st == session.Searching, st == session.Loaded:
			opened++
		case st > session.Searching:
			opened++
			searched++
		}
	}
	switch {
	case s.Blind() != nil && f == nil:
		return said{title: overText(s.Blind())}
	case s.Blind() != nil && f.Unreadable() && f.Pixels() == nil:
		return said{title: say("viewer.cannot-be-shown"), line: blindMessage(s, f)}
	case f == nil && n > 0 && s.Work().Idle():
		return said{title: say("viewer.stopped"), line: say("viewer.films-open-stopped", "N", opened, "Of", n)}
	case f == nil && n > 0:
		return said{title: say("viewer.opening-films"), line: say("viewer.films-open", "N", opened, "Of", n), busy: true}
	case f == nil:
		return said{title: say("viewer.no-film-open"), line: say("viewer.drop-films-window")}
	case f.Unreadable() && f.Pixels() == nil:
		return said{title: say("viewer.cannot-be-shown"), line: filmMessage(s, f)}
	case f.Pixels() == nil && s.Work().Idle():
		return said{title: say("viewer.stopped"), line: say("viewer.film-not-opened", "Film", f.Name())}
	case f.Pixels() == nil:
		return said{title: say("viewer.opening-film", "Film", shorten(f.Name(), 34)), line: say("viewer.opened-already"), busy: true}
	case f.State() == session.Searching && f.InHand():
		return said{title: say("viewer.looking"), line: say("viewer.films-searched", "N", searched, "Of", n), busy: true, low: true}
	case f.State() == session.Searching:
		return said{title: say("viewer.waits-search"), line: say("viewer.films-searched-draw", "N", searched, "Of", n), busy: true, low: true}
	}
	return said{}
}
