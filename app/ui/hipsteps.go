package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"
)

// hipSteps goes from hip to hip in the order of the page of hips.
type hipSteps struct {
	object              fyne.CanvasObject
	w                   *window
	before, after, read *tippedButton
}

func newHipSteps(w *window) *hipSteps {
	button := func(text string, what deed, says string) *tippedButton {
		return newTippedButton(w, text, func() { w.press(what) }, func() string { return says + " (" + w.keyLabel(what) + ")" })
	}
	p := &hipSteps{w: w,
		before: button(say("hips.previous-hip"), hipBefore, say("hips.hip-before-order")),
		after:  button(say("hips.next-hip"), hipAfter, say("hips.hip-after-order")),
		read:   button(say("hips.next-read"), nextToRead, say("hips.next-hip-order")),
	}
	p.object = container.New(layout.NewCustomPaddedHBoxLayout(2), p.before, p.after, p.read)
	return p
}

func (p *hipSteps) show() {
	a := p.w.s.Around()
	show(p.object, a.Any)
	enable(p.before, a.Before)
	enable(p.after, a.After)
	enable(p.read, a.Waits)
}

// tippedButton is a quiet button with a tip.
type tippedButton struct {
	widget.Button
	over *tipped
}

func newTippedButton(w *window, text string, tap func(), tip func() string) *tippedButton {
	b := &tippedButton{over: &tipped{whole: tip, tip: w.tip}}
	b.Text, b.Importance = text, widget.LowImportance
	b.OnTapped = func() { w.tip.hide(); tap(); w.focusViewer() }
	b.ExtendBaseWidget(b)
	return b
}

// MouseIn implements desktop.Hoverable.
func (b *tippedButton) MouseIn(e *desktop.MouseEvent) {
	b.Button.MouseIn(e)
	b.over.MouseIn(e)
}

// MouseMoved implements desktop.Hoverable.
func (b *tippedButton) MouseMoved(e *desktop.MouseEvent) { b.over.MouseIn(e) }

// MouseOut implements desktop.Hoverable.
func (b *tippedButton) MouseOut() {
	b.Button.MouseOut()
	b.over.MouseOut()
}
