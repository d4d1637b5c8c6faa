package ui

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/study"
)

// codeLength is how much of a patient's code titles show.
const codeLength = 20

// hipTitle names the hip. A long code is shortened, so that the side is always seen.
func hipTitle(h study.Hip) string { return middle(h.Patient, codeLength) + sideOf(h) }

func sideOf(h study.Hip) string { return " · " + h.Side.String() + " hip" }

// middle shortens a long text in its middle: codes differ at either end.
func middle(text string, n int) string {
	r := []rune(text)
	if len(r) <= n {
		return text
	}
	return string(r[:n/2]) + "…" + string(r[len(r)-(n-1)/2:])
}

// hipTitleIn is hipTitle within a width, in bold type.
func hipTitleIn(h study.Hip, width float32) string {
	for n := len([]rune(h.Patient)); ; n-- {
		text := middle(h.Patient, n) + sideOf(h)
		if n <= 4 || fyne.MeasureText(text, theme.TextSize(), fyne.TextStyle{Bold: true}).Width <= width {
			return text
		}
	}
}

// tipped shows a whole text in a tip while the pointer is over what shortens it.
type tipped struct {
	widget.BaseWidget
	shown fyne.CanvasObject
	whole func() string // empty where nothing is shortened
	tip   *tip
}

func newTipped(w *window, shown fyne.CanvasObject, whole func() string) *tipped {
	t := &tipped{shown: shown, whole: whole, tip: w.tip}
	t.ExtendBaseWidget(t)
	return t
}

// CreateRenderer implements fyne.Widget.
func (t *tipped) CreateRenderer() fyne.WidgetRenderer { return widget.NewSimpleRenderer(t.shown) }

// MouseIn implements desktop.Hoverable.
func (t *tipped) MouseIn(e *desktop.MouseEvent) {
	if text := t.whole(); text != "" {
		t.tip.show(text, e.AbsolutePosition.X, e.AbsolutePosition.Y)
	}
}

// MouseMoved implements desktop.Hoverable.
func (t *tipped) MouseMoved(e *desktop.MouseEvent) { t.MouseIn(e) }

// MouseOut implements desktop.Hoverable.
func (t *tipped) MouseOut() { t.tip.hide() }

// hipSelect chooses among the hips, and does so for the one that is open.
type hipSelect struct {
	widget.Select
	over *tipped
}

func newHipSelect(w *window, choose func(string)) *hipSelect {
	s := &hipSelect{}
	s.OnChanged, s.over = choose, &tipped{whole: func() string { return w.wholeHip(s.Selected) }, tip: w.tip}
	s.ExtendBaseWidget(s)
	return s
}

// MouseIn implements desktop.Hoverable.
func (s *hipSelect) MouseIn(e *desktop.MouseEvent) {
	s.Select.MouseIn(e)
	s.over.MouseIn(e)
}

// MouseMoved implements desktop.Hoverable.
func (s *hipSelect) MouseMoved(e *desktop.MouseEvent) { s.over.MouseIn(e) }

// MouseOut implements desktop.Hoverable.
func (s *hipSelect) MouseOut() {
	s.Select.MouseOut()
	s.over.MouseOut()
}

// wholeHip is the open hip's title where it is shortened.
func (w *window) wholeHip(shown string) string {
	h, known := w.s.Hip()
	if whole := h.Patient + sideOf(h); known && whole != shown {
		return whole
	}
	return ""
}
