package find

import "linerwatch/measure"

// Radii of shells, mm (common practice, no source: shells measure 40 to 72 mm across).
const (
	leastShell = 18
	mostShell  = 36
)

// hidden returns heads inside circles that may be shells by the votes of gradient
// directions, away from the pairs that convince.
func (s *search) hidden(all []pair) (heads []ball) {
	known := func(at measure.Point) bool { return s.taken(at, 0, all) }
	inner, outer := leastShell*s.inner/(s.opt.HeadMM/2), mostShell*s.outer/(s.opt.HeadMM/2)
	for _, c := range s.vote(inner, outer, 3) {
		if known(c.Center()) {
			continue
		}
		if c, ok := s.shellAt(c.Center(), inner, outer); ok && !known(c.Center()) && s.convinces(c) {
			if h, _ := s.inside(c); h.R > 0 {
				heads = append(heads, h)
			}
		}
	}
	return heads
}

// convinces reports whether a circle may be a shell whatever is inside of it.
func (s *search) convinces(c measure.Circle) bool {
	v, ok := s.view(c.Center(), 1.4*c.R, c.R*viewCells/85) // heads have two thirds of its radius, about
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
	inner, outer = inner/v.k, outer/v.k
	k, spots := v.aroundShells(v.cells(measure.Circle{X: c.X, Y: c.Y}).Center(), 1, inner, outer, 0.15*inner)
	share := 0.0
	for k.inner < k.outer {
		c, score := k.search(spots, shellDraws)
		if score == 0 || score < 0.6*share {
			break
		}
		best, share = v.px(c), score
		k.inner = c.R + 0.1*inner
	}
	return best, share > 0
}

// insideTol is how far from a head's circle an edge inside a shell may lie, mm: some two
// pixels; tried by .ci/vary.
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
		b.hidden = true
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

// usualShell is the radius of a shell, mm, to a third (leastShell, mostShell): near enough
// to say what a mm is.
const usualShell = 27
