package study

import "linerwatch/measure"

// The values of package measure that a study is made of, under this package's
// name: whoever keeps, shows or prints a study need not know how films are
// measured.
type (
	Side    = measure.Side
	Part    = measure.Part
	Circle  = measure.Circle
	Pixel   = measure.Point
	Outline = measure.Outline
	Edge    = measure.Edge
	Ellipse = measure.Ellipse
	Result  = measure.Reading
)

// The sides and the parts.
const (
	SideUnknown = measure.SideUnknown
	Right       = measure.Right
	Left        = measure.Left

	Head = measure.Head
	Cup  = measure.Cup
)

// ParseSide reads "right", "left", "R", "L" or "" (unknown).
func ParseSide(s string) (Side, error) { return measure.ParseSide(s) }

// CupKind is what the cup's outline follows.
type CupKind = measure.CupKind

// The kinds of cup outline with words of their own.
const (
	Shell = measure.Shell
	Wire  = measure.Wire
)
