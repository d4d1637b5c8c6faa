package ui

import (
	"slices"
	"sort"
	"strings"

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

func sideOf(h study.Hip) string {
	return " · " + strings.TrimSpace(say("panel.hip", "Side", h.Side.String()))
}

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
	const least = 4
	text := func(n int) string { return middle(h.Patient, n) + sideOf(h) }
	n := len([]rune(h.Patient))
	cut := sort.Search(max(n-least, 0), func(cut int) bool { // the least that makes it fit
		return fyne.MeasureText(text(n-cut), theme.TextSize(), fyne.TextStyle{Bold: true}).Width <= width
	})
	return text(n - cut)
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

// hipSelect chooses among the hips, and does so for the one that is open. Of many it
// turns to their page.
type hipSelect struct {
	widget.Select
	over *tipped
	w    *window
	hips []study.Hip // those of which the names are shown
}

// mostChoices is how many hips can be chosen from without a page of their own.
const mostChoices = 40

func newHipSelect(w *window, choose func(string)) *hipSelect {
	s := &hipSelect{w: w}
	s.OnChanged, s.over = choose, &tipped{whole: func() string { return w.wholeHip(s.Selected) }, tip: w.tip}
	s.ExtendBaseWidget(s)
	return s
}

// set shows the hips and that one of them is open.
func (s *hipSelect) set(hips []study.Hip, open study.Hip, width float32) {
	if len(hips) > mostChoices {
		hips = []study.Hip{open}
	}
	if !slices.Equal(hips, s.hips) {
		s.hips = slices.Clone(hips)
		var names []string
		for _, h := range hips {
			name := hipTitleIn(h, width-theme.IconInlineSize()-2*theme.InnerPadding())
			if slices.Contains(names, name) {
				name = h.Patient + sideOf(h) // two codes that only their middles tell apart
			}
			names = append(names, name)
		}
		s.SetOptions(names)
	}
	if at := slices.IndexFunc(hips, func(h study.Hip) bool { return h.ID == open.ID }); s.SelectedIndex() != at {
		s.SetSelectedIndex(at)
	}
}

// Tapped implements fyne.Tappable.
func (s *hipSelect) Tapped(e *fyne.PointEvent) {
	if len(s.w.s.Book().Hips()) > mostChoices {
		s.w.turn(s.w.placeOf(hipsKind().word))
		return
	}
	s.Select.Tapped(e)
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

// wholeHip is the open hip's title where it is shortened, or that of the films for which none
// was entered yet.
func (w *window) wholeHip(shown string) string {
	h, known := w.s.Hip()
	if k := w.s.Claimed(); !known {
		h = study.Hip{Patient: k.Patient, Side: k.Side}
	}
	if whole := h.Patient + sideOf(h); h.Patient != "" && whole != shown {
		return whole
	}
	return ""
}
