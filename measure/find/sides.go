package find

import (
	"cmp"
	"image"
	"math"
	"slices"

	"linerwatch/measure"
)

// assignSides tells right from left, adds what contradicts to the warnings, and
// keeps the hips that were asked for.
func (s *search) assignSides(hips []measure.Hip) ([]measure.Hip, error) {
	for i := range hips {
		h := &hips[i]
		place := s.placeSide(*h)
		if len(hips) == 2 {
			place = []measure.Side{measure.Right, measure.Left}[i]
		}
		if w, ok := s.tellSide(h, place, bodySide(s.img, *h), len(hips) == 1); ok {
			h.Warnings = append(h.Warnings, w)
		}
		s.warnMagnification(h)
		if w, ok := turned(*h); ok {
			h.Warnings = append(h.Warnings, w)
		}
	}
	if s.opt.Side == measure.SideUnknown {
		return hips, nil
	}
	wanted := slices.DeleteFunc(slices.Clone(hips), func(h measure.Hip) bool { return h.Side != s.opt.Side })
	if len(wanted) == 0 {
		return nil, refused("refusal.no-side", measure.Values{"Side": s.opt.Side.String()})
	}
	return wanted, nil
}

// tellSide sets the side of a hip from its place on the film and from what it looks like,
// and that of the only one on the film from what was asked for. It returns what
// contradicts.
func (s *search) tellSide(h *measure.Hip, place, body measure.Side, only bool) (w measure.Warning, ok bool) {
	none := measure.SideUnknown
	asked := s.opt.Side
	h.Side = cmp.Or(place, body)
	switch {
	case only && asked != none:
		h.Side = asked
		if body != none && body != asked {
			return contradicts(measure.AskedShape, measure.Values{"Asked": asked.String(), "Body": body.String()}), true
		}
		if place != none && place != asked {
			return contradicts(measure.AskedPlace, measure.Values{"Asked": asked.String(), "Place": place.String()}), true
		}
	case h.Side == none:
		h.Side = measure.Left // neither tells: the nearer half
		if h.Head.X < float64(s.img.Bounds().Dx())/2 {
			h.Side = measure.Right
		}
		return measure.Warning{Code: measure.SideUnproven}, true
	case place != none && body != none && place != body:
		return contradicts(measure.PlaceShape, measure.Values{"Place": place.String(), "Body": body.String()}), true
	}
	return w, false
}

// contradicts is the warning of a case of sides that disagree.
func contradicts(of string, sides measure.Values) measure.Warning {
	return measure.Warning{Code: measure.SideContradicts, Case: of, Values: sides}
}

// wholePelvis is the width of a film that shows both hips, mm, at least (common practice,
// no source: their heads are 170 to 200 mm apart; tried by .ci/vary).
const wholePelvis = 250

// placeSide tells the side from the half of a film that shows both hips, and nothing
// within a twentieth of its width of the middle, as far as a patient may lie off it
// (common practice, no source): their right is at image left.
func (s *search) placeSide(h measure.Hip) measure.Side {
	width := float64(s.img.Bounds().Dx())
	switch {
	case width*s.opt.HeadMM/2/h.Head.R < wholePelvis:
		return measure.SideUnknown
	case h.Head.X < 0.45*width:
		return measure.Right
	case h.Head.X > 0.55*width:
		return measure.Left
	}
	return measure.SideUnknown
}

// bodySide tells the side from the anatomy: the shell's dome points medially, the neck
// laterally, but where they are within 17 degrees of upright (0.3, tried by .ci/vary).
func bodySide(img *image.Gray16, h measure.Hip) measure.Side {
	var medial float64
	if h.CupKind == measure.Shell {
		mean := domeward(h.Cup)
		if far := math.Hypot(mean.X, mean.Y); far > 0.3 {
			medial = mean.X / far
		}
	}
	if angle, ok := brightest(img, h.Head.Circle); ok {
		medial -= math.Cos(angle * math.Pi / 180)
	}
	switch {
	case medial > 0.3:
		return measure.Right
	case medial < -0.3:
		return measure.Left
	}
	return measure.SideUnknown
}

// turned says that a film is not upright: on one that is, the dome of a shell points upwards,
// whichever hip it is, but where it is within 17 degrees of level (as bodySide). A ring does not tell.
func turned(h measure.Hip) (w measure.Warning, ok bool) {
	mean := domeward(h.Cup)
	ok = h.CupKind == measure.Shell && mean.Y > 0.3*math.Hypot(mean.X, mean.Y)
	return measure.Warning{Code: measure.FilmTurned, Case: measure.DomeBelow}, ok
}

func (s *search) warnMagnification(h *measure.Hip) {
	if s.opt.Spacing == 0 {
		return
	}
	m := 2 * h.Head.R * s.opt.Spacing / s.opt.HeadMM
	if m < measure.LeastMagnification || m > measure.MostMagnification {
		h.Warnings = append(h.Warnings, measure.Warning{Code: measure.Magnification, Case: measure.HeadSize,
			Values: measure.Values{"M": m, "Least": measure.LeastMagnification, "Most": measure.MostMagnification}})
	}
}
