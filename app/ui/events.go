package ui

import (
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
	if e.Implant.HeadMM > 0 {
		text += " · " + say("events.head-since-mm", "MM", number(e.Implant.HeadMM))
	}
	if e.Note != "" {
		text += " · " + e.Note
	}
	return text
}

// eventsDialog lists what happened to a hip, and takes more.
type eventsDialog struct {
	w                *window
	rows             *fyne.Container
	kind             *widget.Select
	date, head, note *field
	fault            *widget.Label
}

// askEvents shows the events of the hip; each can be taken back, and one be added.
func (w *window) askEvents() {
	if w.s.Reader() == "" { // an event is kept with who entered it
		w.askReader(w.askEvents)
		return
	}
	d := &eventsDialog{w: w, rows: container.NewVBox(), kind: widget.NewSelect(nil, nil), fault: faultNote(),
		date: newField(w, ""), head: newField(w, ""), note: newField(w, "")}
	for _, c := range study.EventKinds() {
		d.kind.Options = append(d.kind.Options, c.Words)
	}
	d.kind.PlaceHolder = say("events.what-happened")
	d.date.SetPlaceHolder(say("events.year-month-day"))
	d.head.SetPlaceHolder(say("events.mm-where-hip"))
	d.note.SetPlaceHolder(say("events.may-stay-empty"))
	label := func(text string, input fyne.CanvasObject) fyne.CanvasObject {
		return container.NewBorder(nil, nil, container.New(columnLayout{120}, widget.NewLabel(text)), nil, input)
	}
	add := widget.NewButton(say("events.add-event"), d.add)
	add.Importance = widget.HighImportance
	d.list()
	form := container.NewVBox(bold(say("events.one-more")), label(say("events.event"), d.kind), label(say("field.date"), d.date), label(say("events.head-since"), d.head), label(say("events.note"), d.note), d.fault)
	body := container.NewBorder(note(say("events.after-head-liner")),
		form, nil, nil, container.NewVScroll(d.rows))
	shown := dialog.NewCustomWithoutButtons(say("events.events-hip"), body, w.win)
	shown.SetOnClosed(w.focusViewer)
	shown.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.close"), shown.Hide), add})
	shown.Resize(fyne.NewSize(600, min(560, w.win.Canvas().Size().Height-40)))
	w.present(shown)
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
	f := session.EventForm{Date: d.date.Text, HeadMM: d.head.Text, Note: d.note.Text}
	if i := d.kind.SelectedIndex(); i >= 0 {
		f.Kind = study.EventKind(study.EventKinds()[i].Code)
	}
	h, _ := d.w.s.Hip()
	e, faults := f.Event(h, time.Now())
	if len(faults) > 0 {
		d.tell(faults[0].Message)
		return
	}
	d.done(d.w.s.Book().AddEvent(e))
}

// done empties the form where err is nil, and else says why.
func (d *eventsDialog) done(err error) {
	if err != nil {
		d.tell(study.Told(err))
		return
	}
	d.tell("")
	d.kind.ClearSelected()
	for _, f := range []*field{d.date, d.head, d.note} {
		f.SetText("")
	}
	d.list()
}

func (d *eventsDialog) tell(text string) {
	d.fault.SetText(text)
	show(d.fault, text != "")
}
