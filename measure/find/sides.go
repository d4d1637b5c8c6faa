package find

import (
	"fmt"
	"image"
	"math"
	"slices"

	"linerwatch/measure"
)

// assignSides tells right from left, adds what contradicts to the warnings, and
// keeps the hips that were asked for.
func (s *search) assignSides(hips []measure.Hip) ([]measure.Hip, error) {
	width := float64(s.img.Bounds().Dx())
	for i := range hips {
		h := &hips[i]
		place := placeSide(h.Head.X, width)
		if len(hips) == 2 {
			place = []measure.Side{measure.Right, measure.Left}[i]
		}
		anatomy := bodySide(s.img, *h)
		h.Side = place
		if place == measure.SideUnknown {
			h.Side = anatomy
		}
		if h.Side == measure.SideUnknown {
			h.Side = measure.Left // neither tells: the nearer half
			if h.Head.X < width/2 {
				h.Side = measure.Right
			}
			h.Warnings = append(h.Warnings, warning(measure.SideUnproven, "side unproven: the hip is in the middle of the film"))
		}
		if place != measure.SideUnknown && anatomy != measure.SideUnknown && place != anatomy {
			h.Warnings = append(h.Warnings, warning(measure.SideContradicts, "the hip is on the %s half of the film but looks like a %s hip", place, anatomy))
		}
		s.warnMagnification(h)
	}
	if s.opt.Side == measure.SideUnknown {
		return hips, nil
	}
	other := func(h measure.Hip) bool { return h.Side != s.opt.Side }
	wanted := slices.DeleteFunc(slices.Clone(hips), other)
	if len(wanted) == 0 && len(hips) == 1 {
		h := hips[0]
		h.Warnings = append(h.Warnings, warning(measure.SideContradicts, "a %s hip was asked for, but this looks like a %s one", s.opt.Side, h.Side))
		h.Side = s.opt.Side
		wanted = []measure.Hip{h}
	}
	if len(wanted) == 0 {
		return nil, &measure.Refusal{Reason: fmt.Sprintf("no %s hip replacement", s.opt.Side)}
	}
	return wanted, nil
}

// placeSide tells the side from the half of the film, and nothing within a twentieth
// of its width of the middle (chosen): the patient's right is at image left.
func placeSide(x, width float64) measure.Side {
	switch {
	case x < 0.45*width:
		return measure.Right
	case x > 0.55*width:
		return measure.Left
	}
	return measure.SideUnknown
}

// bodySide tells the side from the anatomy: the shell's dome points medially, the neck
// laterally, but where they are within 17 degrees of upright (0.3, chosen).
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

func (s *search) warnMagnification(h *measure.Hip) {
	if s.opt.Spacing == 0 {
		return
	}
	m := 2 * h.Head.R * s.opt.Spacing / s.opt.HeadMM
	if m < leastMagnification || m > mostMagnification {
		h.Warnings = append(h.Warnings, warning(measure.Magnification, "the head's size implies a magnification of %.2f", m))
	}
}
