package measure

import (
	"errors"
	"image"
)

// Part says which outline is looked for.
type Part int

// The parts of a hip replacement that are outlined.
const (
	Head Part = iota // the femoral head
	Cup              // the shell's outer outline, or the wire marker of a cemented cup
)

// Edge is one edge point found on a radial profile.
type Edge struct {
	Point
	Angle    float64 // degrees around the outline, from +x towards +y
	Residual float64 // signed distance to the fitted circle, px, positive outside
	Reject   string  // why the fit left it out; empty where it was kept
}

// Outline is a fitted circle with every edge point that was looked at.
type Outline struct {
	CircleFit
	Edges []Edge
}

// Refine fits a circle to the edge of part near start.
func Refine(img *image.Gray16, start Circle, part Part) (Outline, error) {
	return Outline{}, errors.New("measure: Refine is being written")
}
