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

// edgeWord is an edge of a film as the reader sees it.
func edgeWord(edge string) string {
	switch edge {
	case "up":
		return say("edges.up")
	case "down":
		return say("edges.down")
	case "left":
		return say("edges.left")
	case "right":
		return say("edges.right")
	}
	return ""
}

// edgesNeeded reports whether nothing tells how the patient lies on a lateral film.
func edgesNeeded(s *session.Session, f *session.Film) bool {
	return f != nil && s.View(f) == study.Lateral && !f.Given.Axes.Known()
}

// edgesText tells how the patient lies on a lateral film, as the film shows it.
func edgesText(f *session.Film) string {
	a := f.Given.Axes
	if !a.Known() {
		return say("edges.lateral")
	}
	return say("edges.lateral-edges", "Head", edgeWord(a.Head), "Front", edgeWord(a.Front))
}

// edgeForm asks towards which edges of a lateral film the head end and the front lie.
// The front is offered at the edges that meet that of the head end.
type edgeForm struct {
	head, front *widget.RadioGroup
	use         *widget.Button
	was         study.Axes
}

func newEdgeForm(a study.Axes) *edgeForm {
	e := &edgeForm{was: a, head: widget.NewRadioGroup(nil, nil), front: widget.NewRadioGroup(nil, nil), use: widget.NewButton(say("edges.use-these-edges"), nil)}
	e.use.Importance = widget.HighImportance
	for _, edge := range study.Edges() {
		e.head.Append(edgeWord(edge))
	}
	e.head.Horizontal, e.front.Horizontal = true, true
	e.head.Required, e.front.Required = true, true
	e.head.OnChanged, e.front.OnChanged = func(string) { e.offer() }, func(string) { e.offer() }
	e.head.SetSelected(edgeWord(a.Head))
	e.front.SetSelected(edgeWord(a.Front))
	e.offer()
	return e
}

// offer shows the edges at which the front can lie: all while the head end is open.
func (e *edgeForm) offer() {
	var names []string
	for _, edge := range study.Edges() {
		if e.head.Selected == "" {
			names = append(names, edgeWord(edge))
		} else if a := (study.Axes{Head: edgeOf(e.head.Selected), Front: edge}); a.Known() {
			names = append(names, edgeWord(edge))
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
	for _, edge := range study.Edges() {
		if edgeWord(edge) == words {
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
	form := container.NewVBox(note(say("edges.as-film-shown")),
		bold(say("edges.patient-head-end")), e.head, bold(say("edges.patient-front-lies")), e.front)
	d := dialog.NewCustomWithoutButtons(say("edges.how-patient-lies"), form, w.win)
	d.SetOnClosed(w.focusViewer)
	e.use.OnTapped = func() {
		d.Hide()
		w.told(w.s.Given().SetAxes(e.axes()))
		w.focusViewer()
	}
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), d.Hide), e.use})
	d.Resize(fyne.NewSize(520, d.MinSize().Height))
	w.present(d)
}
