package ui

import (
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/dialog"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/study"
)

// closed reports whether the study is open to be read alone, and then says so.
func (w *window) closed() bool {
	if !w.s.Book().ReadOnly() {
		return false
	}
	w.s.Say("%s", say("panel.nothing-changed", "Study", study.NameOf(w.s.Book().Path())))
	return true
}

// openServer asks for the address of a study on a server and opens it.
func (w *window) openServer() {
	address, fault := newField(w, ""), faultNote()
	address.Password = true // it may hold one
	address.SetPlaceHolder("postgres://reader@host/study")
	d := dialog.NewCustomWithoutButtons(say("open.server-title"), container.NewVBox(address, note(say("open.server-note")), fault), w.win)
	d.SetOnClosed(w.focusViewer)
	open := widget.NewButton(say("button.open-study"), func() {
		text := strings.TrimSpace(address.Text)
		if !study.IsAddress(text) {
			fault.SetText(say("open.no-address"))
			fault.Show()
			return
		}
		d.Hide()
		w.openPath(text)
	})
	open.Importance = widget.HighImportance
	address.OnSubmitted = func(string) { open.OnTapped() }
	d.SetButtons([]fyne.CanvasObject{widget.NewButton(say("asked.back"), d.Hide), open})
	d.Resize(fyne.NewSize(600, 230))
	w.present(d)
	w.win.Canvas().Focus(address)
}
