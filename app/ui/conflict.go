package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
)

// conflictForm shows both values of each field that two windows have changed.
type conflictForm struct {
	fields []session.Disagreement
	take   []*widget.RadioGroup
	rows   *fyne.Container
	use    *widget.Button
}

func newConflictForm(fields []session.Disagreement) *conflictForm {
	c := &conflictForm{fields: fields, rows: container.New(layout.NewFormLayout()), use: widget.NewButton(say("conflict.use-what-chosen"), nil)}
	for _, f := range fields {
		g := widget.NewRadioGroup([]string{say("conflict.yours", "Value", f.Mine), say("conflict.theirs", "Value", f.Theirs)}, nil)
		switch f.Propose {
		case session.Mine:
			g.Selected = g.Options[0]
		case session.Theirs:
			g.Selected = g.Options[1]
		}
		g.OnChanged = func(string) { c.offer() }
		g.Required = true
		c.take = append(c.take, g)
		c.rows.Add(bold(f.Name))
		c.rows.Add(g)
	}
	c.use.Importance = widget.HighImportance
	c.offer()
	return c
}

// choices are whose value is chosen of each field.
func (c *conflictForm) choices() []session.Choice {
	out := make([]session.Choice, len(c.take))
	for i, g := range c.take {
		switch g.Selected {
		case g.Options[0]:
			out[i] = session.Mine
		case g.Options[1]:
			out[i] = session.Theirs
		}
	}
	return out
}

// offer lets the choices be used once every field has one.
func (c *conflictForm) offer() {
	all := true
	for _, v := range c.choices() {
		all = all && v != session.Undecided
	}
	enable(c.use, all)
}

// all chooses the same side in every field.
func (c *conflictForm) all(of session.Choice) []session.Choice {
	out := make([]session.Choice, len(c.fields))
	for i := range out {
		out[i] = of
	}
	return out
}

// askConflict asks whose values count of what two windows have changed. It reports
// whether it asked.
func (w *window) askConflict() bool {
	conflict, ok := w.s.Book().Conflict()
	if !ok {
		return false
	}
	c := newConflictForm(conflict.Fields)
	d := dialog.NewCustomWithoutButtons(say("conflict.changed-elsewhere", "What", conflict.Of), container.NewBorder(
		note(say("conflict.another-window-has")),
		nil, nil, nil, container.NewVScroll(c.rows)), w.win)
	d.SetOnClosed(w.s.Book().LeaveConflict) // by Escape, too
	settle := func(take []session.Choice) {
		d.Hide()
		err := conflict.Settle(take)
		if w.told(err); err == nil {
			w.s.Say("%s", say("conflict.settled", "What", conflict.Of))
		}
		w.focusViewer()
	}
	c.use.OnTapped = func() { settle(c.choices()) }
	d.SetButtons([]fyne.CanvasObject{
		widget.NewButton(say("button.go-back"), func() { d.Hide(); w.focusViewer() }),
		widget.NewButton(say("conflict.all-theirs"), func() { settle(c.all(session.Theirs)) }),
		widget.NewButton(say("conflict.all-mine"), func() { settle(c.all(session.Mine)) }), c.use,
	})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(640, size.Width*0.9), min(size.Height*0.85, 200+90*float32(len(c.fields)))))
	w.present(d)
	return true
}
