package widgets

import (
	"image/color"
	"math"
	"testing"
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

// TestContrast holds text to 4.5:1 (WCAG 2.1, success criterion 1.4.3) and borders
// and the focus ring to 3:1 (1.4.11).
func TestContrast(t *testing.T) {
	if got := contrast(color.RGBA{A: 255}, color.RGBA{255, 255, 255, 255}); math.Abs(got-21) > 1e-9 {
		t.Fatalf("black on white is 21:1, got %g", got)
	}
	grounds := map[string]color.RGBA{"ground": Ground, "surface": Surface, "raised": Raised}
	for name, c := range map[string]color.RGBA{
		"text": Text, "muted": Muted, "dim": Dim, "accent": Accent, "head": Head, "cup": Cup, "shift": Shift,
		"good": Good, "watch": Watch, "fault": Fault,
	} {
		for on, g := range grounds {
			if got := contrast(c, g); got < 4.5 {
				t.Errorf("%s on %s: %.2f, want 4.5", name, on, got)
			}
		}
	}
	for name, c := range map[string]color.RGBA{"border": Border, "focus": Focus} {
		for on, g := range grounds {
			if got := contrast(c, g); got < 3 {
				t.Errorf("%s on %s: %.2f, want 3", name, on, got)
			}
		}
	}
	if got := contrast(Lit, Surface); got < 3 {
		t.Errorf("focused button on surface: %.2f", got)
	}
	if got := contrast(Text, Lit); got < 4.5 {
		t.Errorf("text on a focused button: %.2f", got)
	}
	if got := contrast(OnAccent, Accent); got < 4.5 {
		t.Errorf("text on accent: %.2f", got)
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
