package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// disputeForm asks, of each picture of which two files say otherwise, which of them is right.
type disputeForm struct {
	list []session.Dispute
	take []*widget.RadioGroup
	rows *fyne.Container
}

// What a reader may say of a dispute.
const keptWord, fileWord = "as it is here: ", "as the other file says: "

func newDisputeForm(list []session.Dispute) *disputeForm {
	f := &disputeForm{list: list, rows: container.New(layout.NewFormLayout())}
	for _, d := range list {
		kept, file := d.Says()
		g := widget.NewRadioGroup([]string{keptWord + kept, fileWord + file}, nil)
		f.take = append(f.take, g)
		f.rows.Add(bold(d.Kept.Name()))
		f.rows.Add(container.NewVBox(g, note("here "+d.Kept.Path), note("other "+d.File.Path)))
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
	in := w.s.Intake()
	f := newDisputeForm(in.Disputes())
	d := dialog.NewCustomWithoutButtons("Whose tags stand?", container.NewBorder(
		note("Each of these pictures is in two files that say otherwise whose it is or when it was taken. The one that you choose is the film's file from now on; "+
			"neither file is changed, and the study keeps what was before. What has no answer stays as it is here."),
		nil, nil, nil, container.NewVScroll(f.rows)), w.win)
	settle := widget.NewButton("Settle", func() {
		d.Hide()
		n, err := f.settle(in)
		if w.told(err); err == nil && n > 0 {
			w.s.Say("Settled: %s.", study.Count(n, "picture"))
		}
		w.focusViewer()
	})
	settle.Importance = widget.HighImportance
	d.SetButtons([]fyne.CanvasObject{widget.NewButton("Go back", func() { d.Hide(); w.focusViewer() }), settle})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(760, size.Width*0.9), min(size.Height*0.85, 220+130*float32(len(f.list)))))
	w.present(d)
}
