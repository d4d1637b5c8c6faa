package widgets

import (
	"image/color"
	"math"
	"testing"

	"linerwatch/app/ui/raster"
)

// luminance and contrast are those of WCAG 2.1, "relative luminance" and
// "contrast ratio".
func luminance(c color.RGBA) float64 {
	part := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c.R) + 0.7152*part(c.G) + 0.0722*part(c.B)
}

func contrast(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

// TestContrast holds, in both windows, every colour in which text is set to 4.5:1
// on every surface that text is set on (WCAG 2.1, success criterion 1.4.3), and
// borders and the focus ring to 3:1 (1.4.11).
func TestContrast(t *testing.T) {
	if got := contrast(color.RGBA{A: 255}, color.RGBA{255, 255, 255, 255}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is 21:1, got %g", got)
	}
	for look, p := range map[string]Palette{"dark": Dark, "light": Light} {
		grounds := map[string]color.RGBA{"ground": p.Ground, "surface": p.Surface, "raised": p.Raised}
		words := map[string]color.RGBA{
			"text": p.Text, "muted": p.Muted, "dim": p.Dim, "accent": p.Accent, "head": p.Head, "cup": p.Cup,
			"shift": p.Shift, "axis": p.Axis, "good": p.Good, "watch": p.Watch, "fault": p.Fault,
		}
		lines := map[string]color.RGBA{"border": p.Border, "focus": p.Focus, "head": p.Head, "cup": p.Cup, "shift": p.Shift}
		check := func(name string, c color.RGBA, on string, g color.RGBA, least float64) {
			t.Helper()
			if got := contrast(c, g); got < least {
				t.Errorf("%s: %s on %s: %.2f, want %.1f", look, name, on, got, least)
			}
		}
		for on, g := range grounds {
			for name, c := range words {
				check(name, c, on, g, 4.5)
			}
			for name, c := range lines {
				check(name, c, on, g, 3)
			}
		}
		for on, g := range map[string]color.RGBA{"band": p.Band, "shade": p.Shade} {
			for _, name := range []string{"shift", "cup", "head"} {
				check(name, lines[name], on, g, 3)
			}
			check("muted", p.Muted, on, g, 4.5)
		}
		check("focused button", p.Lit, "surface", p.Surface, 3)
		check("text", p.Text, "focused button", p.Lit, 4.5)
		check("text", p.Text, "button", p.Press, 4.5)
		check("dim", p.Dim, "button", p.Press, 4.5)
		check("text on accent", p.OnAccent, "accent", p.Accent, 4.5)
		for name, c := range map[string]color.RGBA{"good": p.Good, "watch": p.Watch, "fault": p.Fault} {
			check("text on "+name, p.OnAccent, name, c, 4.5)
		}
		check("text", p.Text, "selection", p.Selection, 4.5)
	}
}

// TestPaperContrast holds the patient's view to the same: text 4.5:1, what is drawn
// 3:1 where it carries meaning.
func TestPaperContrast(t *testing.T) {
	for _, c := range []struct {
		name     string
		fore, on color.RGBA
		least    float64
	}{
		{"text", Ink, Paper, 4.5}, {"text on a button", Ink, Panel, 4.5}, {"captions", Faded, Panel, 4.5},
		{"pace", Teal, Paper, 3}, {"movement", Plum, Ball, 3}, {"movement on paper", Plum, Paper, 3},
		{"first place", Ink, Plastic, 3}, {"borders", Rule, Paper, 3},
	} {
		if got := contrast(c.fore, c.on); got < c.least {
			t.Errorf("%s: contrast %.2f, want %.1f", c.name, got, c.least)
		}
	}
}

// TestContrastOverMetal holds the words on a film to 4.5:1 where it is white.
func TestContrastOverMetal(t *testing.T) {
	over := func(c uint8) uint8 {
		return uint8((int(c)*int(raster.Plate.A) + 255*(255-int(raster.Plate.A))) / 255)
	}
	plate := color.RGBA{over(raster.Plate.R), over(raster.Plate.G), over(raster.Plate.B), 255}
	for name, c := range map[string]color.RGBA{
		"head": Dark.Head, "cup": Dark.Cup, "shift": Dark.Shift, "axis": Dark.Axis, "text": Dark.Text,
	} {
		if got := contrast(c, plate); got < 4.5 {
			t.Errorf("%s: %.2f, want 4.5", name, got)
		}
	}
}
