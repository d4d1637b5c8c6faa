package widgets

import "image/color"

// The window's colours. Text reaches a contrast of 4.5:1 on every surface it is
// set on, borders and the focus ring 3:1; a test holds them to it.
var (
	Ground  = rgb(0x11, 0x15, 0x19) // the window
	Surface = rgb(0x19, 0x1f, 0x25) // panels
	Raised  = rgb(0x25, 0x2e, 0x36) // cards, inputs, buttons
	Border  = rgb(0x74, 0x83, 0x8f) // of inputs
	Hair    = rgb(0x33, 0x3e, 0x48) // between areas

	Text  = rgb(0xe7, 0xeb, 0xee)
	Muted = rgb(0xa3, 0xb0, 0xba) // names, captions
	Dim   = rgb(0x8e, 0x9b, 0xa6) // disabled

	Accent   = rgb(0x7f, 0xd6, 0xc2) // what to do next, selection
	OnAccent = rgb(0x06, 0x1b, 0x17)
	Focus    = rgb(0xff, 0xe0, 0x8a)
	Lit      = rgb(0x72, 0x69, 0x48) // a button that has the focus

	Head  = rgb(0xff, 0xb3, 0x5c) // outline of the head
	Cup   = rgb(0x6c, 0xc6, 0xff) // outline of the cup
	Shift = rgb(0xe9, 0xa6, 0xff) // penetration

	Good  = rgb(0x8a, 0xd6, 0x8f) // accepted
	Watch = rgb(0xf2, 0xc1, 0x5f) // to be looked at
	Fault = rgb(0xff, 0x8f, 0x86) // failed
)

func rgb(r, g, b uint8) color.RGBA { return color.RGBA{R: r, G: g, B: b, A: 255} }
