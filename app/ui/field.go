package ui

import (
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"
)

// field is one line of text. Escape puts back what stood in it and leaves it; from
// then on keys go to the page, or to the dialog, which the next Escape closes. In a dialog
// in which nothing was typed yet, Escape closes that at once.
type field struct {
	widget.Entry
	w     *window
	was   string         // when the focus came
	keeps []fyne.KeyName // of the keys that the page has; nil for all
}

func newField(w *window, text string) *field {
	e := &field{w: w, was: text}
	e.ExtendBaseWidget(e)
	e.SetText(text)
	return e
}

// FocusGained implements fyne.Focusable.
func (e *field) FocusGained() {
	e.was = e.Text
	e.Entry.FocusGained()
}

// TypedRune implements fyne.Focusable.
func (e *field) TypedRune(r rune) {
	e.w.typedIn = e.w.top().dialog
	e.Entry.TypedRune(r)
}

// TypedKey implements fyne.Focusable.
func (e *field) TypedKey(k *fyne.KeyEvent) {
	switch {
	case k.Name == fyne.KeyEscape:
		e.leave()
	case e.keeps != nil && !slices.Contains(e.keeps, k.Name) && e.w.acts(k.Name):
		e.w.key(k.Name, false)
	default:
		e.Entry.TypedKey(k)
	}
}

// leave acts on Escape.
func (e *field) leave() {
	changed := e.Text != e.was
	if changed {
		e.SetText(e.was)
	}
	e.w.win.Canvas().Unfocus()
	if !changed && e.w.covered() && e.w.typedIn != e.w.top().dialog {
		e.w.dialogKey(fyne.KeyEscape)
	}
}
