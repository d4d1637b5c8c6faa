package measure

import (
	"errors"
	"image"
	"math"
	"slices"
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

	strength float64 // fall of the profile, grey levels per px
	sd       float64 // standard deviation that the film's noise gives its place, px
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

	// Contrast is the median step across the kept edges in standard deviations of
	// a pixel's noise beside them; of a wire ring, the height of its line.
	Contrast float64
	// Clipped is the share of the edges at which the film cannot show more metal.
	Clipped float64

	// Ring is the ellipse of a wire marker, and zero for any other outline. The
	// circle then has its centre and half of its long axis, and residuals are
	// distances to the ellipse.
	Ring Ellipse
	// RingCov is the covariance of the ring's X, Y, A, B (px) and Angle (radians).
	RingCov [5][5]float64
}

// RingFit returns the ring with its evidence, as ReadRim and Beam.Rim take it.
func (o Outline) RingFit() EllipseFit {
	return EllipseFit{Ellipse: o.Ring, Cov: o.RingCov, Points: o.Points, Residuals: o.Residuals, RMS: o.RMS}
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
// Blur acts on intensity, while films show its logarithm: a sharp edge of metal
// looks shifted into the metal, the more the stronger the contrast. So the last
// look is at the film with the logarithm undone, by the tone in which weak and
// strong contrast around the outline are all a blurred step, and allows for the
// rays that pass metal near its outline. Where the film is clipped to white, what
// it would show follows from the other parts of the outline, from their lying on
// one circle, and from what noise does to a mean that is cut off. On a noisy film
// neighbouring profiles are averaged. Edges of a head that noise may have put
// anywhere are left out; the others count by what noise does to each. A head that
// lets through as much as a ball of ceramic does is left as it is but for its
// radius.
//
// Neighbouring edge points share the film's blur and the shape's departure from
// a circle, so Cov is that of FitCircle times the length of the correlation of
// the residuals along the outline, in points, and a part for what the model of
// the edge leaves, which grows with blur, clipping and scatter. Part of it is the
// same on every film of a hip: Shared.
//
// For a Cup the outline is the shell's where its rim is metal; else the ellipse
// of a marker wire, or the line of one seen edge-on, reported in Ring.
//
// The error is ErrNoOutline where nothing stands out.
func Refine(img *image.Gray16, start Circle, part Part) (Outline, error) {
	if !isFinite(start.X, start.Y, start.R) || !(start.R >= 4) || start.R > 1e5 {
		return Outline{}, ErrNoOutline
	}
	if part == Cup {
		return refineCup(img, start, 0.16*start.R)
	}
	return refineBall(img, start, max(3, 0.3*start.R), Head)
}

// refineCircle fits the circle of a shell within reach px of start.
func refineCircle(img *image.Gray16, start Circle, reach float64) (Outline, error) {
	return refineBall(img, start, reach, Cup)
}

// refineBall fits a circle within reach px of start.
func refineBall(img *image.Gray16, start Circle, reach float64, part Part) (Outline, error) {
	film := crop(img, start.X, start.Y, start.R+2*reach+12)
	if film.v == nil {
		return Outline{}, ErrNoOutline
	}
	c, err := seek(&film, start, reach)
	if err != nil {
		return Outline{}, err
	}
	return settle(&film, c, part)
}

// seekCells is the radius in px of the shrunken film on which seek looks, at
// least; shrinking takes noise away.
const seekCells = 80

// seek returns the circle within reach px of start on which most profiles
// agree, fitted to their edges on the shrunken film.
func seek(film *patch, start Circle, reach float64) (Circle, error) {
	k := int(start.R / seekCells)
	if k < 2 {
		return film.seek(start, reach)
	}
	cell := float64(k)
	small := film.blocks(k)
	x0, y0 := float64(film.x0), float64(film.y0)
	c, err := small.seek(Circle{(start.X - x0) / cell, (start.Y - y0) / cell, start.R / cell}, reach/cell)
	if err != nil {
		return start, err
	}
	return Circle{x0 + c.X*cell, y0 + c.Y*cell, c.R * cell}, nil
}

func (p *patch) seek(start Circle, reach float64) (Circle, error) {
	sigma := smoothing(start.R)
	s := scan{start.Center(), max(1, start.R-1.5*reach), start.R + 1.5*reach, 180, 1, sigma}
	rays := s.run(p)
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
	fit, err := fitEdges(best.look(p, 180, 1, 0, 3*sigma, sigma), best)
	if err != nil {
		return start, ErrNoOutline
	}
	return fit.Circle, nil
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
	slices.Sort(top)
	return top[3*len(top)/4]
}

// lookReach is how far from a circle its edges are looked for, times the scale of
// the slope filter.
const lookReach = 1.5

// settle brings a circle that is right to a few px to its sub-pixel fit.
func settle(film *patch, c Circle, part Part) (Outline, error) {
	sigma := smoothing(c.R)
	n := max(120, min(int(2*math.Pi*c.R), 720))
	few := max(120, n/4) // enough to come near
	edges := c.look(film, few, 2, 0, 2*sigma, sigma)
	near, err := fitEdges(edges, c)
	if err != nil {
		return Outline{}, ErrNoOutline
	}
	c = near.Circle
	coarse, reach := edges, lookReach*sigma
	around := film.around(c, coarse, sigma)
	if around > 0 {
		for range 3 { // what single profiles came near to may be noise
			near, err := fitEdges(c.look(film, few, 2, around*few/n, 3*sigma, sigma), c)
			if err != nil {
				break
			}
			c = near.Circle
		}
	}
	blur, clipped := sigma, 0.0
	k, kind := calibrate(film, c, coarse, part)
	switch kind {
	case metalEdge:
		blur, clipped = k.sigma(), k.clipped
		linear := k.linear(film, c, reach+6*sigma)
		sigma = max(0.8, min(1.2*k.sigma(), sigma))
		edges = c.look(&linear, n, 0, around, reach, sigma)
		linear.expect(edges, c, around, sigma, blur)
		k.correct(edges, c, sigma)
	default:
		edges = c.look(film, n, 0, around, reach, sigma)
		film.expect(edges, c, around, sigma, blur)
		if kind == softEdge {
			outwards(edges, rootInset*1.17*sigma)
		}
	}
	var fit CircleFit
	if part == Cup {
		like(edges, coarse)
		fit, err = fitShell(edges, c)
	} else {
		fit, edges, err = fitHead(edges, c, reach)
	}
	if err != nil || fit.Arc < leastArc {
		return Outline{}, ErrNoOutline
	}
	length := correlation(edges)
	for i := range fit.Cov {
		for j := range fit.Cov[i] {
			fit.Cov[i][j] *= length
		}
	}
	if part == Head {
		oval(&fit, edges)
	}
	fit.doubt(evidence{kind, blur, clipped})
	o := Outline{CircleFit: fit, Edges: edges}
	o.show(film)
	return o, nil
}

// look returns the edge on each of n profiles, each the mean of 2 across + 1
// side by side and then of 2 around + 1, within reach px of c.
func (c Circle) look(film *patch, n, across, around int, reach, sigma float64) []Edge {
	s := scan{c.Center(), max(0.5, c.R-reach-4*sigma), c.R + reach + 4*sigma, n, across, sigma}
	return pick(s.runAround(film, around), s.center, c, reach)
}

// like rejects the edges whose neighbour among fewer edges is rejected.
func like(edges, coarse []Edge) {
	for i := range edges {
		c := coarse[(i*len(coarse)+len(edges)/2)/len(edges)%len(coarse)]
		if edges[i].Reject == "" {
			edges[i].Reject = c.Reject
		}
	}
}

// rootInset is how far inside the outline a square root of the distance,
// blurred by a Gaussian of sigma 1, is steepest: where the derivative of its
// slope, the integral of t^-1/2 (x + t) exp(-(x + t)²/2), is zero. The film's
// own blur adds to the filter's; it is taken to be 0.6 of it.
const rootInset = 0.765

// outwards moves edges away from the middle by d px.
func outwards(edges []Edge, d float64) {
	for i := range edges {
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		edges[i].X += d * cos
		edges[i].Y += d * sin
	}
}
