package find

import (
	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// Radii of shells, mm (common practice, no source: shells measure 40 to 72 mm across).
const (
	leastShell = 18
	mostShell  = 36
)

// hiding returns circles that may be shells whose head does not show by itself, px of
// the film, by the votes of gradient directions; none where a pair is known.
func (s *search) hiding(known func(measure.Point) bool) (found []measure.Circle) {
	perMM, mostMM := s.inner/(s.opt.HeadMM/2), s.outer/(s.opt.HeadMM/2)
	inner, outer := leastShell*perMM, mostShell*mostMM
	for _, c := range s.vote(inner, outer, 3) {
		if known(c.Center()) {
			continue
		}
		if c, ok := s.shellAt(c.Center(), inner, outer); ok && !known(c.Center()) && s.convinces(c) {
			found = append(found, c)
		}
	}
	return found
}

// convinces reports whether a circle may be a shell whatever is inside of it.
func (s *search) convinces(c measure.Circle) bool {
	v, ok := s.view(c.Center(), 1.4*c.R, c.R*viewCells/85)
	if !ok {
		return false
	}
	d, ok := v.dome(v.cells(c))
	least := cupByChance.limit(mostAlarms / oneAlone)
	if !ok || d.edge+mostBody < least {
		return false
	}
	return d.edge+shellBody(&v.Patch, d.Circle, measure.Circle{X: d.X, Y: d.Y}, &d.odds, d.first) >= least
}

// shellAt returns the circle of radius inner to outer px on which most falls
// around c agree; of two about one centre the outer.
func (s *search) shellAt(c measure.Point, inner, outer float64) (best measure.Circle, ok bool) {
	v, ok := s.view(c, 1.15*outer+8, inner*viewCells/40)
	if !ok {
		return best, false
	}
	at := v.cells(measure.Circle{X: c.X, Y: c.Y})
	inner, outer = inner/v.k, outer/v.k
	shift, sigma := 0.15*inner, film.Smoothing((inner+outer)/2)
	rays := film.Scan{Center: at.Center(), Inner: max(1, inner-shift), Outer: outer + shift, N: 144, Across: 1, Sigma: 1.5 * sigma}.Run(&v.Patch)
	least, share := inner, 0.0
	for inner < outer {
		k := consensus{
			start: measure.Circle{X: at.X, Y: at.Y, R: (inner + outer) / 2}, shift: shift,
			inner: inner, outer: outer, tol: 1 + 2*sigma, strength: strongest(rays), free: true,
		}
		c, score := k.search(k.spots(rays, at.Center(), 0.25*k.strength), shellDraws)
		if score == 0 || score < 0.6*share {
			break
		}
		best, share = v.px(c), score
		inner = c.R + 0.1*least
	}
	return best, share > 0
}

// insideTol is how far from a head's circle an edge inside a shell may lie, mm.
const insideTol = 0.3

// inside returns the balls whose outlines show most inside a shell, px of the film, one
// of the size that was asked for and one of another; the radius of either is 0 where
// there is none. The outline of a head may show only where it leaves the shell.
func (s *search) inside(shell measure.Circle) (head, other ball) {
	m := newEdgeMap(s.img, shell.Center(), 1.1*shell.R, max(1, int(0.012*shell.R+0.5)))
	if m == nil {
		return head, other
	}
	mm := shell.R / usualShell
	m.erase(shell, 0.6*mm)
	for _, c := range m.circles(circleSearch{
		Point: shell.Center(), shift: 0.3 * shell.R, inner: smallest * s.inner, outer: min(largest*s.outer, shell.R-3*mm),
		within: measure.Circle{X: shell.X, Y: shell.Y, R: shell.R - 1.5*mm}, apart: headApart * mm, tol: insideTol * mm,
		wanted: [2]float64{s.inner, s.outer},
	}) {
		v, ok := s.beside(c)
		if !ok {
			continue
		}
		b := weigh(&v, v.cells(c))
		to := &other
		if s.fits(b) {
			to = &head
		}
		if to.R == 0 || b.sure() > to.sure() {
			*to = b
		}
	}
	return head, other
}

// usualShell is the radius of a shell, mm, near enough to call a px a mm.
const usualShell = 27
