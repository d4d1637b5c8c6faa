package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// askVariables lists the study's own variables; each can be changed, and one be added.
func (w *window) askVariables() {
	list, err := w.s.Book().Variables()
	if err != nil {
		w.told(err)
		return
	}
	table := widgets.NewTable(widgets.Column{Title: texts.Say("asked.name", nil), Share: 1}, widgets.Column{Title: texts.Say("asked.whose", nil), Share: 0.8},
		widgets.Column{Title: texts.Say("asked.type", nil), Share: 1.4}, widgets.Column{Title: texts.Say("asked.label", nil), Share: 1.6})
	var cells [][]widgets.Cell
	for _, v := range list {
		cells = append(cells, []widgets.Cell{{Text: v.Name, Code: true}, {Text: session.OwnerWords(v.Of)}, {Text: session.TypeWords(v)}, {Text: v.Label}})
	}
	table.Set(cells, -1)
	none := emptyNote()
	none.SetText(texts.Say("variables.none", nil))
	show(none, len(list) == 0)
	show(table, len(list) > 0)
	d := dialog.NewCustomWithoutButtons(texts.Say("variables.title", nil), container.NewBorder(note(texts.Say("variables.note", nil)), nil, nil, nil,
		container.NewStack(table, midway(none))), w.win)
	d.SetOnClosed(w.focusViewer)
	then := func(v study.Variable) { d.Hide(); w.askVariable(v) }
	table.OnOpen = func(i int) {
		if i < len(list) {
			then(list[i])
		}
	}
	add := widget.NewButton(texts.Say("variables.add", nil), func() { then(study.Variable{}) })
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(texts.Say("asked.close", nil), d.Hide), add})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(820, size.Width-40), min(480, size.Height-40)))
	w.present(d)
}

// askVariable asks a new variable of the study, or changes one, and then shows all again.
func (w *window) askVariable(v study.Variable) {
	f := session.NewVariableForm(v)
	s := newSheet(w, f.Form)
	title := texts.Say("variables.new", nil)
	if v.Name != "" {
		title = texts.Say("variables.one", texts.Values{"Name": v.Name, "Of": session.OwnerWords(v.Of)})
	}
	w.askSheet(title, texts.Say("variables.how", nil), s, v.Revision > 0, func() ([]session.FormFault, error) {
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
	s := newSheet(w, f.Form)
	w.askSheet(texts.Say("variables.film", texts.Values{"Film": film.DateText()}), texts.Say("variables.film-how", nil), s, true, func() ([]session.FormFault, error) {
		f.Form, f.Why = s.form, s.why.Text
		list, faults := f.Read()
		if len(faults) > 0 {
			return faults, nil
		}
		return nil, w.s.Book().SetValues(list, f.Why)
	}, nil)
}
