package measure

import (
	"fmt"
	"image"
	"math"
)

// assignSides tells right from left, adds what contradicts to the warnings, and
// keeps the hips that were asked for.
func (s *search) assignSides(hips []Hip) ([]Hip, error) {
	width := float64(s.img.Bounds().Dx())
	for i := range hips {
		h := &hips[i]
		place := placeSide(h.Head.X, width)
		if len(hips) == 2 {
			place = []Side{Right, Left}[i]
		}
		anatomy := bodySide(s.img, *h)
		h.Side = place
		if place == SideUnknown {
			h.Side = anatomy
		}
		if h.Side == SideUnknown {
			h.Side = Left // neither tells: the nearer half
			if h.Head.X < width/2 {
				h.Side = Right
			}
			h.Warnings = append(h.Warnings, warnUnproven())
		}
		if place != SideUnknown && anatomy != SideUnknown && place != anatomy {
			h.Warnings = append(h.Warnings, warnPlace(place, anatomy))
		}
		s.warnMagnification(h)
	}
	if s.opt.Side == SideUnknown {
		return hips, nil
	}
	var wanted []Hip
	for _, h := range hips {
		if h.Side == s.opt.Side {
			wanted = append(wanted, h)
		}
	}
	if len(wanted) == 0 && len(hips) == 1 {
		h := hips[0]
		h.Warnings = append(h.Warnings, warnAsked(s.opt.Side, h.Side))
		h.Side = s.opt.Side
		wanted = []Hip{h}
	}
	if len(wanted) == 0 {
		return nil, &Refusal{Reason: fmt.Sprintf("no %s hip replacement", s.opt.Side)}
	}
	return wanted, nil
}

// placeSide tells the side from the half of the film, and nothing within a
// tenth of the middle: the patient's right is at image left.
func placeSide(x, width float64) Side {
	switch {
	case x < 0.45*width:
		return Right
	case x > 0.55*width:
		return Left
	}
	return SideUnknown
}

// bodySide tells the side from the anatomy: the shell's dome points medially,
// the neck laterally.
func bodySide(img *image.Gray16, h Hip) Side {
	var medial float64
	if h.CupKind == Shell {
		if r := rimOf(img, h.Cup); r.spread > 0.3 {
			medial = r.dome.X
		}
	}
	if angle, ok := brightest(img, h.Head); ok {
		medial -= math.Cos(angle * math.Pi / 180)
	}
	switch {
	case medial > 0.3:
		return Right
	case medial < -0.3:
		return Left
	}
	return SideUnknown
}

func (s *search) warnMagnification(h *Hip) {
	if s.opt.Spacing == 0 {
		return
	}
	m := 2 * h.Head.R * s.opt.Spacing / s.opt.HeadMM
	if m < leastMagnification || m > mostMagnification {
		h.Warnings = append(h.Warnings, warnMagnified(m))
	}
}
