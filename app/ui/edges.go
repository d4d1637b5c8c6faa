package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// edgeWords are the edges of a film as the reader sees it.
var edgeWords = map[string]string{"up": "upper edge", "down": "lower edge", "left": "left edge", "right": "right edge"}

// edgesNeeded reports whether nothing tells how the patient lies on a lateral film.
func edgesNeeded(s *session.Session, f *session.Film) bool {
	return f != nil && s.View(f) == study.Lateral && !f.Given.Axes.Known()
}

// edgesText tells how the patient lies on a lateral film, as the film shows it.
func edgesText(f *session.Film) string {
	a := f.Given.Axes
	if !a.Known() {
		return "lateral film"
	}
	return "lateral film · head end towards the " + edgeWords[a.Head] + ", front towards the " + edgeWords[a.Front]
}

// edgeForm asks towards which edges of a lateral film the head end and the front lie.
// The front is offered at the edges that meet that of the head end.
type edgeForm struct {
	head, front *widget.RadioGroup
	use         *widget.Button
	was         study.Axes
}

func newEdgeForm(a study.Axes) *edgeForm {
	e := &edgeForm{was: a, head: widget.NewRadioGroup(nil, nil), front: widget.NewRadioGroup(nil, nil), use: widget.NewButton("Use these edges", nil)}
	e.use.Importance = widget.HighImportance
	for _, edge := range study.Edges() {
		e.head.Append(edgeWords[edge])
	}
	e.head.Horizontal, e.front.Horizontal = true, true
	e.head.Required, e.front.Required = true, true
	e.head.OnChanged, e.front.OnChanged = func(string) { e.offer() }, func(string) { e.offer() }
	e.head.SetSelected(edgeWords[a.Head])
	e.front.SetSelected(edgeWords[a.Front])
	e.offer()
	return e
}

// offer shows the edges at which the front can lie: all while the head end is open.
func (e *edgeForm) offer() {
	var names []string
	for _, edge := range study.Edges() {
		if e.head.Selected == "" {
			names = append(names, edgeWords[edge])
		} else if a := (study.Axes{Head: edgeOf(e.head.Selected), Front: edge}); a.Known() {
			names = append(names, edgeWords[edge])
		}
	}
	if !slices.Equal(names, e.front.Options) {
		if !slices.Contains(names, e.front.Selected) {
			e.front.Selected = ""
		}
		e.front.Options = names
		e.front.Refresh()
	}
	enable(e.use, e.axes().Known())
}

func (e *edgeForm) axes() study.Axes {
	return study.Axes{Head: edgeOf(e.head.Selected), Front: edgeOf(e.front.Selected), Obliquity: e.was.Obliquity}
}

func edgeOf(words string) string {
	for edge, w := range edgeWords {
		if w == words {
			return edge
		}
	}
	return ""
}

// askEdges asks how the patient lies on the lateral film in the viewer.
func (w *window) askEdges() {
	f := w.s.Strip().Selected()
	if f == nil || w.s.View(f) != study.Lateral {
		return
	}
	e := newEdgeForm(f.Given.Axes)
	form := container.NewVBox(note("As the film is shown here. Without both, nothing is read from a lateral film."),
		bold("The patient's head end lies towards the"), e.head, bold("The patient's front lies towards the"), e.front)
	d := dialog.NewCustomWithoutButtons("How the patient lies on this lateral film", form, w.win)
	d.SetOnClosed(w.focusViewer)
	e.use.OnTapped = func() {
		d.Hide()
		w.told(w.s.Given().SetAxes(e.axes()))
		w.focusViewer()
	}
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Go back", d.Hide), e.use})
	d.Resize(fyne.NewSize(520, d.MinSize().Height))
	w.present(d)
}
