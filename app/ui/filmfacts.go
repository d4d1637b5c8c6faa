package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/study"
)

// showFacts shows what is known of the film in the viewer, and asks its date where
// the file has none.
func (w *window) showFacts() {
	f := w.s.Strip().Selected()
	if f == nil {
		return
	}
	grid := container.New(layout.NewFormLayout())
	for _, fact := range w.s.FilmFacts(f) {
		value := widget.NewLabel(fact.Value)
		value.Wrapping = fyne.TextWrapWord
		cell := container.New(layout.NewCustomPaddedVBoxLayout(-10), value)
		if fact.Todo != "" {
			todo := widget.NewLabel("→ " + fact.Todo)
			todo.Wrapping, todo.Importance = fyne.TextWrapWord, widget.WarningImportance
			cell.Add(todo)
		}
		grid.Add(bold(fact.Name))
		grid.Add(cell)
	}
	box := container.NewVBox()
	title, date := say("facts.film", "Date", f.DateText()), (*field)(nil)
	if !f.Dated() {
		title = f.Name()
		if f.Pixels() != nil {
			entry, at := w.dateEntry()
			box.Add(entry)
			date = at
		}
	}
	box.Add(grid)
	d := dialog.NewCustomWithoutButtons(title, container.NewVScroll(box), w.win)
	buttons := []fyne.CanvasObject{widget.NewButton(say("button.close"), d.Hide)}
	form, err := w.s.FilmForm(f)
	if w.told(err); len(form.Blocks) > 0 {
		buttons = append(buttons, widget.NewButton(say("variables.of-film"), func() { d.Hide(); w.askFilmValues(f, form) }))
	}
	d.SetButtons(buttons)
	d.SetOnClosed(w.focusViewer)
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(680, size.Width*0.9), min(520, size.Height*0.85)))
	w.present(d)
	if date != nil {
		w.win.Canvas().Focus(date)
	}
}

// dateEntry asks when the film was taken.
func (w *window) dateEntry() (fyne.CanvasObject, *field) {
	date := newField(w, "")
	date.SetPlaceHolder(say("facts.year-month-day"))
	fault := note(say("facts.file-does-not"))
	date.OnSubmitted = func(text string) {
		if err := w.s.Given().SetDate(text); err != nil {
			fault.SetText(study.Told(err))
			return
		}
		if d := w.top().dialog; d != nil {
			d.Hide()
		}
	}
	use := widget.NewButton(say("facts.use-date"), func() { date.OnSubmitted(date.Text) })
	for _, o := range []fyne.Disableable{date, use} {
		enable(o, !w.s.Book().ReadOnly())
	}
	return container.NewVBox(container.NewBorder(nil, nil, nil, use, date), fault), date
}
