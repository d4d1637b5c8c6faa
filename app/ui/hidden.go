package ui

import (
	"errors"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// withNumbers does what shows numbers of the study. Where they are hidden, why they are looked at
// is asked first; who may not look is told so, on the page of lists.
func (w *window) withNumbers(then func()) {
	err := w.s.Book().Hidden()
	hidden, is := errors.AsType[*session.HiddenError](err)
	switch {
	case err == nil:
		then()
	case is && len(hidden.Read) == 0:
		w.askLook(then)
	default:
		w.toLists()
		w.told(err)
	}
}

// askLook asks why numbers are looked at while lists are read blind, shows them and goes on with
// then.
func (w *window) askLook(then func()) {
	if w.s.Reader() == "" {
		w.askWhere(say("button.go-on"), func() { w.withNumbers(then) })
		return
	}
	why, fault := newField(w, ""), faultNote()
	why.SetPlaceHolder(texts.Say("blind.look-such", nil))
	said := widget.NewLabel(texts.Say("blind.look", texts.Values{"Reader": w.s.Reader()}))
	said.Wrapping = fyne.TextWrapWord
	d := dialog.NewCustomWithoutButtons(texts.Say("blind.look-title", nil), container.NewVBox(said, bold(texts.Say("blind.look-why", nil)), why, fault), w.win)
	look := widget.NewButton(texts.Say("blind.look-now", nil), func() {
		if err := w.s.Book().ShowNumbers(why.Text); err != nil {
			fault.SetText(study.Told(err))
			fault.Show()
			return
		}
		d.Hide()
		w.refresh()
		then()
	})
	why.OnSubmitted = func(string) { look.OnTapped() }
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(texts.Say("button.go-back", nil), func() { d.Hide(); w.focusViewer() }), look})
	d.Resize(fyne.NewSize(560, d.MinSize().Height))
	w.present(d)
	w.win.Canvas().Focus(why)
}

// disclosed adds to the trail what was written of numbers, and tells where that cannot be.
func (w *window) disclosed(kind study.DisclosureKind, hipID string) {
	if err := w.s.Book().Disclose(kind, hipID); err != nil {
		w.s.Say("%s", texts.Say("blind.unrecorded", texts.Values{"Why": study.Told(err)}))
	}
}

// veiled turns to the lists once numbers are hidden that were shown.
func (w *window) veiled() {
	now := w.s.Book().NumbersHidden()
	if was := w.hidden; w.hidden != now {
		w.hidden = now
		if _, known := w.s.Hip(); !was && !known && !w.blind() {
			w.toLists()
		}
	}
}
