package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/dialog"
)

// layer is a dialog that lies over the window.
type layer struct {
	dialog   dialog.Dialog
	over     fyne.CanvasObject // that it is shown in
	proposed func()            // answer of the question in it; nil where it is none
}

// covered reports whether a dialog or a menu lies over the window: keys then do
// not reach the films.
func (w *window) covered() bool { return w.win.Canvas().Overlays().Top() != nil }

// present shows d; Escape closes it.
func (w *window) present(d dialog.Dialog) { w.propose(d, nil) }

// propose shows d; Escape closes it, and Enter gives the proposed answer.
func (w *window) propose(d dialog.Dialog, answer func()) {
	d.Show()
	w.layers = append(w.layers, layer{d, w.win.Canvas().Overlays().Top(), answer})
}

// top is the uppermost of the dialogs that are open; nothing where none is.
func (w *window) top() layer {
	open := w.win.Canvas().Overlays().List()
	w.layers = slices.DeleteFunc(w.layers, func(l layer) bool { return !slices.Contains(open, l.over) })
	if n := len(w.layers); n > 0 {
		return w.layers[n-1]
	}
	return layer{}
}

// dialogKey acts on a key while a dialog or a menu is open: Escape closes the uppermost
// dialog, Enter gives the proposed answer of the question in it.
func (w *window) dialogKey(k fyne.KeyName) {
	switch l := w.top(); {
	case l.dialog == nil:
	case k == fyne.KeyEscape:
		l.dialog.Hide()
	case (k == fyne.KeyReturn || k == fyne.KeyEnter) && l.proposed != nil:
		l.proposed()
	}
}
