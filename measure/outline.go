package measure

import (
	"errors"
	"image"
	"math"
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

// Reasons for which Refine leaves an edge point out.
const (
	rejectNeck  = "neck"          // the metal goes on beyond the outline
	rejectNone  = "no edge"       // nothing on the profile stands out
	rejectOther = "other outline" // the edge belongs to something else
	rejectStray = "alone"         // too few neighbours agree
	rejectOff   = "off the film"
)

// Outline is a fitted circle with every edge point that was looked at.
type Outline struct {
	CircleFit
	Edges []Edge

	// Ring is the ellipse of a wire marker, and zero for any other outline. The
	// circle then has its centre and half of its long axis, and residuals are
	// distances to the ellipse.
	Ring Ellipse
}

// ErrNoOutline is the error of a place on a film where no circle stands out.
var ErrNoOutline = errors.New("measure: no outline found near the circle")

// leastArc is the shortest arc of kept edges that Refine trusts, degrees.
const leastArc = 75

// Refine fits a circle to the edge of part near start, which may be off by a
// quarter of a head's radius or a sixth of a cup's, some 3 to 4 mm.
//
// Each radial profile proposes the places where the grey level falls fastest
// going outward. The circle on which most profiles agree is found by drawing
// triples; then each profile is looked at again close to it, with a range that
// shrinks twice, and the circle is fitted to the edges whose distance is
// within 3.5 robust standard deviations. What is left out carries its reason.
//
// Neighbouring edge points share the film's blur and the shape's departure from
// a circle, so Cov is that of FitCircle times the length of the correlation of
// the residuals along the outline, in points. Part of the departure is the same
// on every film of a hip: on phantom films Cov is too large for the difference
// of two films, and for one film it leaves out a shift of some 0.03 mm towards
// the metal, where blur acts on the intensity and the film shows its logarithm.
//
// For a Cup the outline is the shell's where its rim is metal; else the ellipse
// of a marker wire, or the line of one seen edge-on, reported in Ring; else
// whatever circle stands out.
//
// The error is ErrNoOutline where nothing stands out.
func Refine(img *image.Gray16, start Circle, part Part) (Outline, error) {
	if !isFinite(start.X, start.Y, start.R) || !(start.R >= 4) || start.R > 1e5 {
		return Outline{}, ErrNoOutline
	}
	if part == Cup {
		return refineCup(img, start, 0.16*start.R)
	}
	return refineCircle(img, start, max(3, 0.3*start.R))
}

// refineCircle fits a circle within reach px of start.
func refineCircle(img *image.Gray16, start Circle, reach float64) (Outline, error) {
	film := crop(img, start.X, start.Y, start.R+2*reach+12)
	if film.v == nil {
		return Outline{}, ErrNoOutline
	}
	c, err := seek(&film, start, reach)
	if err != nil {
		return Outline{}, err
	}
	return settle(&film, c)
}

// seek returns the circle within reach px of start on which most profiles
// agree.
func seek(film *patch, start Circle, reach float64) (Circle, error) {
	sigma := smoothing(start.R)
	s := scan{start.Center(), max(1, start.R-1.5*reach), start.R + 1.5*reach, 180, 1, sigma}
	rays := s.run(film)
	noise := clutter(rays)
	c := consensus{
		start: start, shift: reach, inner: start.R - reach, outer: start.R + reach,
		tol: 1 + sigma, strength: strongest(rays),
	}
	if !(c.strength > 2*noise) {
		return start, ErrNoOutline
	}
	best, score := c.search(c.spots(rays, s.center, max(1.5*noise, 0.1*c.strength)), 500)
	if score < 0.1 {
		return start, ErrNoOutline
	}
	return best, nil
}

// strongest returns the upper quartile over the rays of their strongest fall.
func strongest(rays []ray) float64 {
	var top []float64
	for _, r := range rays {
		var most float64
		for _, f := range r.falls {
			most = max(most, f.strength)
		}
		top = append(top, most)
	}
	median(top) // sorts
	return top[3*len(top)/4]
}

// settle brings a circle that is right to a few px to its sub-pixel fit.
func settle(film *patch, c Circle) (Outline, error) {
	sigma := smoothing(c.R)
	var fit CircleFit
	var edges []Edge
	for pass, reach := range []float64{3 * sigma, 2 * sigma, 1.5 * sigma, 1.5 * sigma} {
		n := max(120, min(int(2*math.Pi*c.R), 1440))
		if pass < 2 {
			n = max(120, n/4) // enough to come near
		}
		s := scan{c.Center(), max(0.5, c.R-reach-4*sigma), c.R + reach + 4*sigma, n, 0, sigma}
		rays := s.run(film)
		edges = pick(rays, s.center, c, reach)
		var err error
		if fit, err = fitEdges(edges, c); err != nil {
			return Outline{}, ErrNoOutline
		}
		c = fit.Circle
	}
	if fit.Arc < leastArc {
		return Outline{}, ErrNoOutline
	}
	inflate(&fit, edges)
	return Outline{CircleFit: fit, Edges: edges}, nil
}
