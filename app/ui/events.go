package ui

import (
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// eventWords tells an event in a line.
func eventWords(e study.Event) string {
	text := e.Date.Format(time.DateOnly) + " · " + study.Words(study.EventKinds(), string(e.Kind))
	if since := sinceText(e.Implant); since != "" {
		text += " · " + say("events.since", "What", since)
	}
	if e.Note != "" {
		text += " · " + e.Note
	}
	return text
}

// sinceText is what a hip has since an event in a few words, "" where that is not said.
func sinceText(m study.Implant) string {
	var parts []string
	if m.HeadMM > 0 {
		parts = append(parts, headText(m))
	}
	if text := linerText(m); text != "" {
		parts = append(parts, text)
	}
	if m.Catalogue != "" {
		parts = append(parts, m.Catalogue)
	}
	return strings.Join(parts, ", ")
}

// eventsDialog lists what happened to a hip, and takes more.
type eventsDialog struct {
	w    *window
	rows *fyne.Container
	more *fyne.Container // holds the sheet's blocks
	form session.EventForm
	*sheet
}

// askEvents shows the events of the hip; each can be taken back, and one be added.
func (w *window) askEvents() {
	if w.closed() {
		return
	}
	if w.s.Reader() == "" { // an event is kept with who entered it
		w.askReader(w.askEvents)
		return
	}
	d := &eventsDialog{w: w, rows: container.NewVBox(), more: container.NewStack()}
	d.clear()
	add := widget.NewButton(say("events.add-event"), d.add)
	add.Importance = widget.HighImportance
	d.list()
	body := container.NewBorder(note(say("events.kept")), nil, nil, nil, container.NewVScroll(container.NewVBox(d.rows, d.more)))
	shown := dialog.NewCustomWithoutButtons(say("events.events-hip"), body, w.win)
	shown.SetOnClosed(w.focusViewer)
	shown.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), shown.Hide), add})
	size := w.win.Canvas().Size()
	shown.Resize(fyne.NewSize(min(1020, size.Width-40), min(660, size.Height-40)))
	w.present(shown)
}

// clear sets an empty form below the list.
func (d *eventsDialog) clear() {
	d.form = d.w.s.EventForm()
	d.sheet = newSheet(d.w, d.form.Form)
	d.more.Objects = []fyne.CanvasObject{container.NewGridWithColumns(2, container.NewVBox(d.blocks[0], d.other), d.blocks[1])}
	d.more.Refresh()
}

// list shows the events that stand.
func (d *eventsDialog) list() {
	d.rows.Objects = nil
	events, err := d.w.s.Book().Events()
	switch {
	case err != nil:
		d.rows.Add(note(study.Told(err)))
	case len(events) == 0:
		d.rows.Add(note(say("events.none-entered")))
	}
	for _, e := range events {
		said := widget.NewLabel(eventWords(e))
		said.Wrapping = fyne.TextWrapWord
		back := widget.NewButton(say("events.take-back"), func() { d.done(d.w.s.Book().TakeBack(e.ID)) })
		d.rows.Add(container.NewBorder(nil, nil, nil, container.NewCenter(back), said))
	}
	d.rows.Refresh()
}

// add saves what was entered, or says what is wrong with it.
func (d *eventsDialog) add() {
	d.read()
	d.form.Form = d.sheet.form
	e, faults := d.form.Event(time.Now())
	if d.tell(faults); len(faults) == 0 {
		d.done(d.w.s.Book().AddEvent(e))
	}
}

// done empties the form where err is nil, and else says why.
func (d *eventsDialog) done(err error) {
	if err != nil {
		d.tell([]session.FormFault{{Message: study.Told(err)}})
		return
	}
	d.clear()
	d.list()
}
