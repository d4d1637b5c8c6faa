package find

import (
	"image"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// Reasons for which Refine leaves an edge point out.
const (
	rejectNeck  = "neck"          // the metal goes on beyond the outline
	rejectNone  = "no edge"       // nothing on the profile stands out
	rejectOther = "other outline" // the edge belongs to something else
	rejectOff   = "off the film"
)

// ErrNoOutline is the error of a place on a film where no circle stands out.
var ErrNoOutline = measure.Fault("find.no-outline", nil)

// leastArc is the shortest arc of kept edges that Refine takes, degrees: the three
// parameters of a circle and an error ask for four blocks.
const leastArc = 4 * blockDegrees

// Refine fits a circle to the edge of part near start, which may be off by a
// quarter of a head's radius or a sixth of a cup's, some 3 to 4 mm.
//
// The circle on which most radial profiles agree is fitted to their edges, each by what
// noise does to it, that are within 3.5 robust standard deviations. What is left out
// carries its reason.
//
// Blur acts on intensity, while films show its logarithm: a sharp edge of metal
// looks shifted into the metal, the more the stronger the contrast. So the last
// look is at the film with the logarithm undone (film.Calibrate). What that leaves of
// the shift is fitted along with the circle, and so is the oval that a ball is imaged as
// off the central ray. A head that rays pass, as ceramic does, is found by the profile
// of a ball (film.RootLaw).
//
// Cov is how far blocks of neighbouring edges depart from the outline, whatever the
// reason, and what the model of the edge leaves, as films drawn for it tell. Part of
// that is the same on every film of a hip: Shared.
//
// For a Cup the outline is the ellipse of a marker wire, or the line of one seen
// edge-on, reported in Ring, where one shows that is not the rim of a shell; else the
// shell's.
//
// The error is ErrNoOutline where nothing stands out.
func Refine(img *image.Gray16, start measure.Circle, part measure.Part) (measure.Outline, error) {
	if !measure.Finite(start.X, start.Y, start.R) || !(start.R >= 4) || start.R > 1e5 {
		return measure.Outline{}, ErrNoOutline
	}
	if part == measure.Cup {
		return refineCup(img, start, 0.16*start.R)
	}
	return refineCircle(img, start, max(3, 0.3*start.R), measure.Head)
}

// refineCircle fits a circle within reach px of start.
func refineCircle(img *image.Gray16, start measure.Circle, reach float64, part measure.Part) (measure.Outline, error) {
	half := start.R + 2*reach + 12
	v, ok := (&search{img: img}).view(start.Center(), half, start.R)
	if !ok {
		return measure.Outline{}, ErrNoOutline
	}
	c, err := seek(&v.Patch, v.cells(start), reach/v.k)
	if err != nil {
		return measure.Outline{}, err
	}
	patch := film.Crop(img, start.X, start.Y, half)
	return settle(&patch, v.px(c), part, nil, 1)
}

// seek returns the circle within reach px of start on which most profiles agree, fitted
// to their edges.
func seek(p *film.Patch, start measure.Circle, reach float64) (measure.Circle, error) {
	sigma := film.Smoothing(start.R)
	s := film.Scan{Center: start.Center(), Inner: max(1, start.R-1.5*reach), Outer: start.R + 1.5*reach, N: 180, Across: 1, Sigma: sigma}
	rays := s.Run(p)
	c := consensus{
		start: start, shift: reach, inner: start.R - reach, outer: start.R + reach,
		tol: 1 + sigma, strength: strong(rays),
	}
	if !(c.strength > 0) {
		return start, ErrNoOutline
	}
	best, score := c.search(c.spots(rays, s.Center, 0.1*c.strength), 500)
	if score < 0.1 {
		return start, ErrNoOutline
	}
	fit, err := fitEdges(look(best, p, 180, 1, 0, 3*sigma, sigma), best)
	if err != nil {
		return start, ErrNoOutline
	}
	return fit.Circle, nil
}
