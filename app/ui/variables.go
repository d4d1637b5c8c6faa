package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// askVariables lists the study's own variables; each can be changed, and one be added.
func (w *window) askVariables() {
	list, err := w.s.Book().Variables()
	if err != nil {
		w.told(err)
		return
	}
	table := widgets.NewTable(widgets.Column{Title: say("asked.name"), Share: 1}, widgets.Column{Title: say("asked.whose"), Share: 0.8},
		widgets.Column{Title: say("asked.type"), Share: 1.4}, widgets.Column{Title: say("asked.label"), Share: 1.6})
	var cells [][]widgets.Cell
	for _, v := range list {
		cells = append(cells, []widgets.Cell{{Text: v.Name, Code: true}, {Text: session.OwnerWords(v.Of)}, {Text: session.TypeWords(v)}, {Text: v.Label}})
	}
	table.Set(cells, -1)
	none := emptyNote()
	none.SetText(say("variables.none"))
	show(none, len(list) == 0)
	show(table, len(list) > 0)
	d := dialog.NewCustomWithoutButtons(say("variables.title"), container.NewBorder(note(say("variables.note")), nil, nil, nil,
		container.NewStack(table, midway(none))), w.win)
	d.SetOnClosed(w.focusViewer)
	then := func(v study.Variable) { d.Hide(); w.askVariable(v) }
	table.OnOpen = func(i int) {
		if i < len(list) {
			then(list[i])
		}
	}
	add := widget.NewButton(say("variables.add"), func() { then(study.Variable{}) })
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), d.Hide), add})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(820, size.Width-40), min(480, size.Height-40)))
	w.present(d)
}

// askVariable asks a new variable of the study, or changes one, and then shows all again.
func (w *window) askVariable(v study.Variable) {
	if w.closed() {
		return
	}
	f := session.NewVariableForm(v)
	s := newSheet(w, f.Form)
	title := say("variables.new")
	if v.Name != "" {
		title = say("variables.one", "Name", v.Name, "Of", session.OwnerWords(v.Of))
	}
	w.askSheet(title, say("variables.how"), s, v.Revision > 0, func() ([]session.FormFault, error) {
		f.Form, f.Why = s.form, s.why.Text
		v, faults := f.Read()
		if len(faults) > 0 {
			return faults, nil
		}
		return nil, w.s.Book().SaveVariable(v, f.Why)
	}, w.askVariables)
}

// askFilmValues asks what the study keeps of its own of a film.
func (w *window) askFilmValues(film *session.Film, f session.FilmForm) {
	if w.closed() {
		return
	}
	s := newSheet(w, f.Form)
	w.askSheet(say("variables.film", "Film", film.DateText()), say("variables.film-how"), s, true, func() ([]session.FormFault, error) {
		f.Form, f.Why = s.form, s.why.Text
		list, faults := f.Read()
		if len(faults) > 0 {
			return faults, nil
		}
		return nil, w.s.Book().SetValues(list, f.Why)
	}, nil)
}
