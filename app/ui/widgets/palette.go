package widgets

import "image/color"

// Palette is the colours of a window. Text reaches a contrast of 4.5:1 on every
// surface it is set on, borders and the focus ring 3:1; a test holds them to it.
type Palette struct {
	Ground  color.RGBA // the window
	Surface color.RGBA // panels
	Raised  color.RGBA // cards, inputs
	Press   color.RGBA // buttons
	Border  color.RGBA // of inputs
	Hair    color.RGBA // between areas

	Text, Muted color.RGBA // Muted: names, captions
	Dim         color.RGBA // disabled

	Accent, OnAccent color.RGBA // what to do next, selection
	Selection        color.RGBA // behind selected text
	Focus            color.RGBA
	Lit              color.RGBA // a button that has the focus

	Head, Cup color.RGBA // outlines
	Shift     color.RGBA // penetration
	Axis      color.RGBA // reference line

	Band, Shade color.RGBA // of charts: the 95 % band, the bedding-in part

	Good, Watch, Fault color.RGBA // accepted, to be looked at, failed
}

// Dark is the palette for reading: the film is the brightest thing on the screen.
// What is drawn over a film has its colours in every window.
var Dark = Palette{
	Ground: rgb(0x11, 0x15, 0x19), Surface: rgb(0x19, 0x1f, 0x25), Raised: rgb(0x25, 0x2e, 0x36), Press: rgb(0x25, 0x2e, 0x36),
	Border: rgb(0x74, 0x83, 0x8f), Hair: rgb(0x33, 0x3e, 0x48),
	Text: rgb(0xe7, 0xeb, 0xee), Muted: rgb(0xa3, 0xb0, 0xba), Dim: rgb(0x8e, 0x9b, 0xa6),
	Accent: rgb(0x7f, 0xd6, 0xc2), OnAccent: rgb(0x06, 0x1b, 0x17), Selection: rgb(0x2f, 0x5a, 0x52),
	Focus: rgb(0xff, 0xe0, 0x8a), Lit: rgb(0x72, 0x69, 0x48),
	Head: rgb(0xff, 0xb3, 0x5c), Cup: rgb(0x6c, 0xc6, 0xff), Shift: rgb(0xe9, 0xa6, 0xff), Axis: rgb(0xb5, 0xe3, 0x7c),
	Band: rgb(0x24, 0x3f, 0x3d), Shade: rgb(0x1d, 0x22, 0x2b),
	Good: rgb(0x8a, 0xd6, 0x8f), Watch: rgb(0xf2, 0xc1, 0x5f), Fault: rgb(0xff, 0x8f, 0x86),
}

// Light is the palette for a bright room, such as the clinic.
var Light = Palette{
	Ground: rgb(0xf4, 0xf5, 0xf3), Surface: rgb(0xea, 0xec, 0xea), Raised: rgb(0xfd, 0xfd, 0xfc), Press: rgb(0xdf, 0xe4, 0xe2),
	Border: rgb(0x6c, 0x77, 0x80), Hair: rgb(0xc6, 0xcb, 0xcd),
	Text: rgb(0x10, 0x16, 0x1b), Muted: rgb(0x47, 0x52, 0x5b), Dim: rgb(0x5c, 0x67, 0x70),
	Accent: rgb(0x0b, 0x63, 0x56), OnAccent: rgb(0xff, 0xff, 0xff), Selection: rgb(0xbd, 0xdf, 0xd8),
	Focus: rgb(0x9a, 0x4f, 0x00), Lit: rgb(0xa0, 0x7a, 0x2c),
	Head: rgb(0x93, 0x4a, 0x00), Cup: rgb(0x0a, 0x5c, 0x96), Shift: rgb(0x8a, 0x2c, 0xa6), Axis: rgb(0x44, 0x62, 0x0e),
	Band: rgb(0xcf, 0xe6, 0xe1), Shade: rgb(0xe4, 0xe7, 0xea),
	Good: rgb(0x1c, 0x65, 0x2a), Watch: rgb(0x7a, 0x50, 0x00), Fault: rgb(0xa8, 0x26, 0x1c),
}

// The colours of the window as it is. Use changes them.
var (
	Ground, Surface, Raised, Press color.RGBA
	Border, Hair                   color.RGBA
	Text, Muted, Dim               color.RGBA
	Accent, OnAccent, Selection    color.RGBA
	Focus, Lit                     color.RGBA
	Head, Cup, Shift, Axis         color.RGBA
	Band, Shade                    color.RGBA
	Good, Watch, Fault             color.RGBA
)

func init() { Use(Dark) }

// Use makes p the colours of all that is built from then on. It belongs to the
// window's goroutine.
func Use(p Palette) {
	Ground, Surface, Raised, Press = p.Ground, p.Surface, p.Raised, p.Press
	Border, Hair = p.Border, p.Hair
	Text, Muted, Dim = p.Text, p.Muted, p.Dim
	Accent, OnAccent, Selection = p.Accent, p.OnAccent, p.Selection
	Focus, Lit = p.Focus, p.Lit
	Head, Cup, Shift, Axis = p.Head, p.Cup, p.Shift, p.Axis
	Band, Shade = p.Band, p.Shade
	Good, Watch, Fault = p.Good, p.Watch, p.Fault
}

func rgb(r, g, b uint8) color.RGBA { return color.RGBA{R: r, G: g, B: b, A: 255} }

// The colours of what is shown to a patient: ink on paper.
var (
	Paper   = rgb(0xfb, 0xfa, 0xf7)
	Panel   = rgb(0xee, 0xec, 0xe6)
	Ink     = rgb(0x1c, 0x24, 0x2b)
	Faded   = rgb(0x4f, 0x5a, 0x63) // captions
	Rule    = rgb(0x7c, 0x86, 0x8e)
	Teal    = rgb(0x0b, 0x66, 0x58) // the pace, buttons
	Tint    = rgb(0xbd, 0xdf, 0xd8) // its uncertainty
	Plum    = rgb(0x8a, 0x2c, 0xa6) // the movement
	Metal   = rgb(0xc9, 0xce, 0xd3)
	Plastic = rgb(0xf1, 0xdf, 0xb4)
	Ball    = rgb(0x9f, 0xaf, 0xbc)
)
