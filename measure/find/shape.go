package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// ovalSD is the standard deviation of the two second harmonics of a ball's
// outline, as a share of its radius. Off the central ray a sphere is imaged as
// an ellipse of axis ratio 1 / cos t, t the angle off the ray: 92 mm off at 1 m
// the harmonic is 0.002 of the radius.
const ovalSD = 0.002

// ovals returns the second harmonics of an ellipse, less what a circle makes of
// them on the part of the outline that could be seen: fitted along with the circle
// they make it that of the whole part, not of the edges that happen to be kept. A
// cup of which nobody said where its dome is gets none: they would follow its lip.
func (s *settling) ovals(edges []measure.Edge) []fit.Term {
	counts := s.counts
	if s.part == measure.Cup && counts == nil {
		return nil
	}
	terms := []fit.Term{{Along: make([]float64, len(edges)), SD: ovalSD * s.c.R}, {Along: make([]float64, len(edges)), SD: ovalSD * s.c.R}}
	points, weights := make([]measure.Point, len(edges)), make([]float64, len(edges))
	for i := range edges {
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		points[i] = measure.Point{X: cos, Y: sin}
		terms[0].Along[i], terms[1].Along[i] = cos*cos-sin*sin, 2*sin*cos
	}
	if counts == nil { // all around they leave the circle as it is
		return terms
	}
	seen := whole(counts)
	for i := range edges {
		if seen[sectorOf(i, len(edges))] {
			weights[i] = 1
		}
	}
	for k, t := range terms {
		// A circle of radius 1 takes up what it can of a small multiple.
		const small = 1e-4
		moved := make([]measure.Point, len(points))
		for i, p := range points {
			moved[i] = measure.Point{X: p.X * (1 + small*t.Along[i]), Y: p.Y * (1 + small*t.Along[i])}
		}
		d := fit.Departed{Circle: measure.Circle{R: 1}}
		if !d.Near(moved, weights, nil, 0, 8) {
			return nil
		}
		for i, p := range moved {
			terms[k].Along[i] = d.Distance(p) / small
		}
	}
	return terms
}

// whole returns the sectors that count with those between them: all but the longest run
// that does not.
func whole(counts *[sectors]bool) (all [sectors]bool) {
	first, most, run := 0, 0, 0
	for i := range 2 * sectors {
		if counts[i%sectors] {
			run = 0
		} else if run++; run > most {
			first, most = i-run+1, run
		}
	}
	for i := range all {
		all[i] = (i-first+2*sectors)%sectors >= most
	}
	return all
}

// A step of intensity by the factor K, blurred by a Gaussian of sigma, is steepest
// on a scale of the logarithm stepShift sigma ln K inside, to two parts in a hundred
// up to K = 8: where the derivative of phi/(1/(K-1) + Phi) is zero. The tone found
// for a film undoes that, but not all of it where the film was enhanced, equalised
// or has a curve of another kind. What is left, or undone too much, follows ln K too;
// leftSD is its standard deviation as a share of the whole: it may be all of it (tried by
// .ci/vary).
const (
	stepShift = 0.4
	leftSD    = 1.0
)

// leftOver returns the term of what the tone leaves of the shift of a step, from the
// strength of the edges on the linear film, averaged over some degrees.
func leftOver(edges []measure.Edge, sigma, blur float64) fit.Term {
	n := len(edges)
	t := fit.Term{Along: make([]float64, n), SD: leftSD}
	half := max(1, n/90)
	step := math.Sqrt(2 * math.Pi * (sigma*sigma + blur*blur)) // over the slope
	var mean, kept float64
	for i := range edges {
		var sum, count float64
		for j := i - half; j <= i+half; j++ {
			if e := &edges[(j+n)%n]; e.Reject == "" {
				sum += e.Strength
				count++
			}
		}
		if count == 0 {
			continue
		}
		t.Along[i] = -stepShift * blur * math.Log1p(step*sum/count)
		if edges[i].Reject == "" {
			mean += t.Along[i]
			kept++
		}
	}
	for i := range t.Along {
		t.Along[i] -= mean / max(1, kept)
	}
	return t
}
