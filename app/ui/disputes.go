package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
)

// disputeForm asks, of each picture of which two files say otherwise, which of them is right.
type disputeForm struct {
	list []session.Dispute
	take []*widget.RadioGroup
	rows *fyne.Container
}

func newDisputeForm(list []session.Dispute) *disputeForm {
	f := &disputeForm{list: list, rows: container.New(layout.NewFormLayout())}
	for _, d := range list {
		kept, file := d.Says()
		g := widget.NewRadioGroup([]string{say("dispute.here", "Says", kept), say("dispute.other", "Says", file)}, nil)
		f.take = append(f.take, g)
		f.rows.Add(bold(d.Kept.Name()))
		f.rows.Add(container.NewVBox(g, note(say("dispute.path-here", "Path", d.Kept.Path)), note(say("dispute.path-other", "Path", d.File.Path))))
	}
	return f
}

// settle settles what has an answer; the others stay.
func (f *disputeForm) settle(in *session.Intake) (settled int, err error) {
	for i, g := range f.take {
		take := session.Undecided
		switch g.Selected {
		case g.Options[0]:
			take = session.Mine
		case g.Options[1]:
			take = session.Theirs
		default:
			continue
		}
		if err := in.Settle(f.list[i], take); err != nil {
			return settled, err
		}
		settled++
	}
	return settled, nil
}

// askDisputes asks which of two files is right of each picture of which they say otherwise.
func (w *window) askDisputes() {
	if w.closed() {
		return
	}
	in := w.s.Intake()
	f := newDisputeForm(in.Disputes())
	d := dialog.NewCustomWithoutButtons(say("dispute.whose"), container.NewBorder(
		note(say("dispute.about")),
		nil, nil, nil, container.NewVScroll(f.rows)), w.win)
	settle := widget.NewButton(say("dispute.settle"), func() {
		d.Hide()
		n, err := f.settle(in)
		if w.told(err); err == nil && n > 0 {
			w.s.Say("%s", say("dispute.settled", "N", n))
		}
		w.focusViewer()
	})
	settle.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("button.go-back"), func() { d.Hide(); w.focusViewer() }), settle})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(760, size.Width*0.9), min(size.Height*0.85, 220+130*float32(len(f.list)))))
	w.present(d)
}
