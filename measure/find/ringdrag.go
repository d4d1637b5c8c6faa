package find

import (
	"image"
	"math"

	"linerwatch/measure"
)

const (
	ringReach = 4   // mm that Ring looks around the start: 3 mm off, and a little
	ringTurn  = 20  // degrees that it may be turned from there; tried by .ci/vary
	ringStay  = 0.5 // mm within which it takes the ring for found where the start lies; tried by .ci/vary
)

// Ring fits the ellipse of a wire marker ring near start, which may be 3 mm
// off, as Hips does. head is the outline of the head, which hides a part of the
// ring, and headMM its diameter, which tells what a mm is.
//
// Only where the fit from start leads elsewhere, or nowhere, is the ring looked for
// around it. The error is ErrNoOutline where no wire stands out.
func Ring(img *image.Gray16, start measure.Ellipse, head measure.Circle, headMM float64) (measure.Outline, error) {
	if err := measure.Positive("head diameter", headMM, "mm"); err != nil {
		return measure.Outline{}, err
	}
	if !measure.Finite(start.X, start.Y, start.A, start.B, start.Angle, head.X, head.Y, head.R) || !(head.R >= 4) || head.R > 1e5 {
		return measure.Outline{}, ErrNoOutline
	}
	s := ringAround(head, headMM/2/head.R)
	m, ok := s.newMap(img)
	if !ok {
		return measure.Outline{}, ErrNoOutline
	}
	s.start, s.shift = start.Center(), ringReach*s.mm
	s.neck, s.oblique = start.Angle+90, ringTurn
	s.inner, s.outer = max(s.inner, start.A-s.shift), min(s.outer, start.A+s.shift)
	k, ok := s.fit(m, []measure.Ellipse{start})
	if !ok || k.sure() < ringSure || ringsApart(m.ellipse(k.theta), start) > ringStay*s.mm {
		if seeds := s.seekNear(m, start); len(seeds) > 0 {
			k, ok = s.fit(m, seeds)
		}
	}
	if ok && k.sure() >= ringSure {
		if o, ok := m.outline(img, k); ok && holdsHead(o, head) {
			return o, nil
		}
	}
	return measure.Outline{}, ErrNoOutline
}

// ringsApart returns about how far two ellipses lie apart where that is most, px.
func ringsApart(e measure.Ellipse, f measure.Ellipse) float64 {
	turn := math.Abs(math.Mod(math.Mod(e.Angle-f.Angle, 180)+270, 180) - 90)
	return max(e.Center().Distance(f.Center()), math.Abs(e.A-f.A), math.Abs(e.B-f.B), turn*math.Pi/180*e.A)
}
