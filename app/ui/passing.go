package ui

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"
)

// A widget that was clicked has the focus, and the keys with it. Those here keep
// the keys that they need and pass the others on to the page.

// passingSlider is a slider that keeps the arrow keys.
type passingSlider struct {
	widget.Slider
	w *window
}

func newSlider(w *window, lo, hi, step float64) *passingSlider {
	s := &passingSlider{w: w}
	s.Min, s.Max, s.Value, s.Step, s.Orientation = lo, hi, lo, step, widget.Horizontal
	s.ExtendBaseWidget(s)
	return s
}

// grooved shows a slider whose groove has the colour c, which is as plain to see as a
// border: the toolkit gives it that of an input's ground.
func grooved(s *passingSlider, base fyne.Theme, c color.Color) fyne.CanvasObject {
	return container.NewThemeOverride(s, grooveTheme{base, c})
}

type grooveTheme struct {
	fyne.Theme
	groove color.Color
}

// Color implements fyne.Theme.
func (t grooveTheme) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	if name == theme.ColorNameInputBackground {
		return t.groove
	}
	return t.Theme.Color(name, v)
}

// TypedKey implements fyne.Focusable.
func (s *passingSlider) TypedKey(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyLeft, fyne.KeyRight, fyne.KeyUp, fyne.KeyDown:
		s.Slider.TypedKey(e)
	default:
		s.w.key(e.Name, false)
	}
}

// TypedRune implements fyne.Focusable.
func (s *passingSlider) TypedRune(r rune) { s.w.letter(r) }

// passingCheck is a box to tick that keeps the space bar, and the focus when it is
// ticked.
type passingCheck struct {
	widget.Check
	w *window
}

func newCheck(w *window, text string, changed func(bool)) *passingCheck {
	c := &passingCheck{w: w}
	c.Text, c.OnChanged = text, changed
	c.ExtendBaseWidget(c)
	return c
}

// TypedKey implements fyne.Focusable.
func (c *passingCheck) TypedKey(e *fyne.KeyEvent) {
	if e.Name != fyne.KeySpace { // which comes as a character too
		c.w.key(e.Name, false)
	}
}

// TypedRune implements fyne.Focusable.
func (c *passingCheck) TypedRune(r rune) {
	if r == ' ' {
		c.Check.TypedRune(r)
		return
	}
	c.w.letter(r)
}

// passingSelect is a choice that keeps the arrow keys and the space bar.
type passingSelect struct {
	widget.Select
	w *window
}

func newSelect(w *window, options []string, changed func(string)) *passingSelect {
	s := &passingSelect{w: w}
	s.Options, s.OnChanged, s.PlaceHolder = options, changed, "–"
	s.ExtendBaseWidget(s)
	return s
}

// TypedKey implements fyne.Focusable.
func (s *passingSelect) TypedKey(e *fyne.KeyEvent) {
	switch e.Name {
	case fyne.KeyUp, fyne.KeyDown, fyne.KeySpace:
		s.Select.TypedKey(e)
	default:
		s.w.key(e.Name, false)
	}
}

// TypedRune implements fyne.Focusable.
func (s *passingSelect) TypedRune(r rune) { s.w.letter(r) }
