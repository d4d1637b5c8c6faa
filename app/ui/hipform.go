package ui

import (
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// hipForm asks implant, dates and patient of a hip.
type hipForm struct {
	*sheet
	form  session.HipForm
	ok    *widget.Button
	rests *widget.Label // what is computed anew
	asked study.Hip     // the hip for which that was said
}

func newHipForm(w *window, f session.HipForm) *hipForm {
	h := &hipForm{sheet: newSheet(w, f.Form), form: f}
	h.rests = widget.NewLabel("")
	h.rests.Wrapping, h.rests.Importance = fyne.TextWrapWord, widget.WarningImportance
	h.rests.Hide()
	h.ok = widget.NewButton(say("asked.hip-use"), nil)
	h.ok.Importance = widget.HighImportance
	return h
}

// body sets the implant beside the rest.
func (h *hipForm) body() fyne.CanvasObject {
	const implant = 2
	left := container.NewVBox(h.blocks[:implant]...)
	for _, b := range h.blocks[implant+1:] {
		left.Add(b)
	}
	return container.NewGridWithColumns(2, left, h.blocks[implant])
}

// details returns what was entered.
func (h *hipForm) details() (session.Details, []session.FormFault) {
	h.read()
	h.form.Form, h.form.Why = h.sheet.form, h.why.Text
	return h.form.Read(time.Now())
}

// agreed reports whether a hip may be taken on which readings rest as rests says: where
// it says so of this hip for the second time. The first time it asks.
func (h *hipForm) agreed(hip study.Hip, rests string) bool {
	yes := rests == "" || hip == h.asked
	h.asked = hip
	h.rests.SetText(say("asked.hip-kept", "Rests", rests))
	show(h.rests, rests != "")
	key := "asked.hip-use"
	if rests != "" {
		key = "asked.hip-anew"
	}
	h.ok.SetText(say(key))
	return yes
}

// take saves what was entered, and reports whether the form is done with.
func (h *hipForm) take() bool {
	s := h.w.s
	d, faults := h.details()
	h.tell(faults)
	if len(faults) > 0 || !h.agreed(d.Hip, s.Rests(d.Hip)) {
		return false
	}
	err := s.SetDetails(d)
	if _, clash := s.Book().Conflict(); clash || err == nil {
		return true // what was entered is in the question that follows
	}
	h.form = h.form.Anew(err)
	h.tell([]session.FormFault{{Message: study.Told(err)}})
	return false
}

// askHip shows the form, filled with what is known.
func (w *window) askHip() {
	if w.closed() {
		return
	}
	if w.asking {
		return
	}
	w.asking = true
	form, err := w.s.Form()
	w.told(err)
	h := newHipForm(w, form)
	later := "asked.later"
	hip, known := w.s.Hip()
	if known {
		later = "asked.back"
	}
	foot := container.New(layout.NewCustomPaddedVBoxLayout(0), h.other, h.rests)
	if known && hip.Revision > 0 {
		foot.Objects = append([]fyne.CanvasObject{h.asksWhy()}, foot.Objects...)
	}
	d := dialog.NewCustomWithoutButtons(say("asked.hip-title"), container.NewBorder(
		note(say("asked.hip-note")), foot, nil, nil, container.NewVScroll(h.body())), w.win)
	d.SetOnClosed(func() { w.asking = false; w.focusViewer() })
	h.ok.OnTapped = func() {
		if h.take() {
			d.Hide()
		}
	}
	h.submits(h.ok.OnTapped)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say(later), d.Hide), h.ok})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(1020, size.Width-40), min(680, size.Height-30)))
	w.present(d)
	w.win.Canvas().Focus(h.first())
}

// askSheet shows a sheet in a dialog, with a reason where what was known may be changed. take
// saves what was entered, and returns faults, or an error; then, which may be nil, comes once
// it is saved.
func (w *window) askSheet(title, says string, s *sheet, why bool, take func() ([]session.FormFault, error), then func()) {
	body := container.NewVBox(s.blocks...)
	if why {
		body.Add(s.asksWhy())
	}
	d := dialog.NewCustomWithoutButtons(title, container.NewBorder(note(says), s.other, nil, nil, container.NewVScroll(body)), w.win)
	d.SetOnClosed(w.focusViewer)
	ok := widget.NewButton(say("asked.save"), func() {
		s.read()
		faults, err := take()
		if err != nil {
			faults = append(faults, session.FormFault{Message: study.Told(err)})
		}
		if s.tell(faults); len(faults) > 0 {
			return
		}
		if d.Hide(); then != nil {
			then()
		}
	})
	ok.Importance = widget.HighImportance
	s.submits(ok.OnTapped)
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("asked.back"), d.Hide), ok})
	size := w.win.Canvas().Size()
	d.Resize(fyne.NewSize(min(600, size.Width-40), min(max(300, d.MinSize().Height+body.MinSize().Height), size.Height-40)))
	w.present(d)
	if len(s.fields) > 0 {
		w.win.Canvas().Focus(s.first())
	}
}
