package find

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// Radii of shells, mm.
const (
	leastShell = 18
	mostShell  = 36
)

// Limits of a head found inside a shell, from some 200 phantom shells with three
// sizes of head asked for.
//
// A circle is looked into where it shows on insideLeast of its turn or more, and
// either on insideLead times as much as any other or its ridge is clear: insideClear
// times the greatest apart from it. A ridge of less than insideOne times that tells
// against it, unless it shows on insideShare.
//
// It is a head where it shows on insideShare; or where the edges of which noise tells
// the place cover insideSharp of its turn and scatter about it by insideScatter
// standard deviations or less; or where they do not scatter much more and its ridge
// is clear, it shows on insideAlone without any other, or it is brighter inside in
// insideBrighter of the directions. An outline lies within 0.4 mm of its circle, and
// its cup within 2.3 mm of the shell that was looked into.
const (
	insideLeast    = 0.07
	insideLead     = 1.2
	insideShare    = 0.2
	insideSharp    = 0.15
	insideScatter  = 1.8
	insideAlone    = 0.155
	insideBrighter = 0.85
	insideOne      = 0.9
	insideClear    = 1.2
	insideStray    = 2.5
	insideApart    = 0.8 // mm
	insideTol      = 0.3 // mm
	insideAgree    = 0.5 // mm
	insideRadius   = 0.8 // mm; a ball of ceramic is steepest well inside its outline
	insideShell    = 3.0 // mm
)

// shells returns metal shells, px of the film, by the votes of gradient
// directions, but for those about a hip already found.
func (s *search) shells(hips []measure.Hip) (found []circleMatch) {
	perMM, mostMM := s.inner/(s.opt.HeadMM/2), s.outer/(s.opt.HeadMM/2)
	inner, outer := leastShell*perMM, mostShell*mostMM
	for _, c := range vote(&s.small, inner/s.k, outer/s.k, 3) {
		p := measure.Point{X: c.X * s.k, Y: c.Y * s.k}
		if slices.ContainsFunc(hips, func(h measure.Hip) bool { return owns(h, p) }) {
			continue
		}
		if m, ok := s.shellAt(p, inner, outer); ok && s.metalRim(m.Circle) {
			found = append(found, m)
		}
	}
	slices.SortFunc(found, func(a, b circleMatch) int { return cmp.Compare(b.share, a.share) })
	return found
}

// shellAt returns the circle of radius inner to outer px on which most falls
// around c agree; of two about one centre the outer.
func (s *search) shellAt(c measure.Point, inner, outer float64) (best circleMatch, ok bool) {
	shift := 0.15 * inner
	patch := film.Crop(s.img, c.X, c.Y, outer+shift+8)
	if patch.V == nil {
		return best, false
	}
	sigma := film.Smoothing((inner + outer) / 2)
	rays := film.Scan{Center: c, Inner: max(1, inner-shift), Outer: outer + shift, N: 144, Across: 1, Sigma: 1.5 * sigma}.Run(&patch)
	least := inner
	for inner < outer {
		k := consensus{
			start: measure.Circle{X: c.X, Y: c.Y, R: (inner + outer) / 2}, shift: shift,
			inner: inner, outer: outer, tol: 1 + 2*sigma, strength: strongest(rays), free: true,
		}
		circle, share := k.search(k.spots(rays, c, 0.25*k.strength), 1000)
		if share < 0.1 || share < 0.6*best.share {
			break
		}
		best = circleMatch{Circle: circle, share: share}
		inner = circle.R + 0.1*least
	}
	return best, best.share > 0
}

// metalRim reports whether a circle bounds metal in a quarter of all directions
// or more.
func (s *search) metalRim(c measure.Circle) bool {
	part := film.Square(s.img, c.X, c.Y, 1.2*c.R)
	if part.Empty() {
		return false
	}
	q := film.Quantiles(s.img, part)
	metal := 0
	for i := range turns {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / turns)
		in, ok := film.Level(s.img, c.X+0.95*c.R*cos, c.Y+0.95*c.R*sin)
		out, ok2 := film.Level(s.img, c.X+1.05*c.R*cos, c.Y+1.05*c.R*sin)
		if ok && ok2 && in-q.Low > 0.8*(q.High-q.Low) && in-out > 0.3*(q.High-q.Low) {
			metal++
		}
	}
	return 4*metal >= turns
}

const noHead = "a metal shell without a head's outline in it"

// lookIn returns the edges around a shell, nil off the film, and how to search them
// for the circle of a head inside it, whose outline may show only where it leaves
// the shell.
func (s *search) lookIn(shell measure.Circle) (m *edgeMap, in circleSearch) {
	m = newEdgeMap(s.img, shell.Center(), 1.1*shell.R, max(1, int(0.012*shell.R+0.5)))
	if m == nil {
		return nil, in
	}
	mm := shell.R / usualShell
	m.erase(shell, 0.6*mm)
	return m, circleSearch{
		Point: shell.Center(), shift: 0.3 * shell.R, inner: s.inner, outer: min(s.outer, shell.R-3*mm),
		within: measure.Circle{X: shell.X, Y: shell.Y, R: shell.R - 1.5*mm}, apart: insideApart * mm, tol: insideTol * mm,
	}
}

// usualShell is the radius of a shell, mm, near enough to call a px a mm.
const usualShell = 27

// leads reports whether more of a circle shows than of others.
func (b circleMatch) leads() bool {
	return b.share >= insideLeast && (b.lead >= insideClear || b.share >= insideLead*b.next) &&
		(b.lead >= insideOne || b.share >= insideShare)
}

// showsHead reports whether the outline of a circle matched is that of a head.
func (s *search) showsHead(b circleMatch, o measure.Outline) bool {
	sharp, scatter := overNoise(o)
	return b.share >= insideShare || sharp >= insideSharp && scatter <= insideScatter ||
		scatter < insideStray && (b.lead >= insideClear || b.share >= insideAlone && b.next == 0 ||
			s.brighterInside(o) >= insideBrighter)
}

// agrees reports whether an outline is that of the circle matched.
func (b circleMatch) agrees(o measure.Outline, mm float64) bool {
	return o.Center().Distance(b.Center()) <= insideAgree*mm && math.Abs(o.R-b.R) <= insideRadius*mm
}

// headIn looks for a head inside a shell. What does not convince comes with its
// reason.
func (s *search) headIn(shell measure.Circle) (h measure.Hip, other measure.Candidate) {
	m, in := s.lookIn(shell)
	if m == nil {
		return h, measure.Candidate{Cup: shell, Reason: noHead}
	}
	return s.outlineIn(shell, m, in, m.best(in))
}

// outlineIn outlines the head matched inside a shell, and its cup.
func (s *search) outlineIn(shell measure.Circle, m *edgeMap, in circleSearch, b circleMatch) (h measure.Hip, other measure.Candidate) {
	other = measure.Candidate{Head: b.Circle, Cup: shell, Reason: noHead}
	if b.share >= insideLeast {
		b.lead = m.lead(b.Circle, in)
	}
	if !b.leads() {
		return h, other
	}
	mm := shell.R / usualShell
	patch := film.Crop(s.img, b.X, b.Y, 1.3*b.R+12)
	head, err := settle(&patch, b.Circle, measure.Head)
	if err != nil || !b.agrees(head, mm) || head.R < s.inner || head.R > s.outer ||
		!s.showsHead(b, head) {
		return h, other
	}
	other.Head = head.Circle
	cup, kind, err := findCup(s.img, head, s.opt.HeadMM)
	if err != nil || kind != measure.Shell || cup.Center().Distance(shell.Center()) > insideShell*mm {
		other.Reason = noCup
		return h, other
	}
	other.Reason = s.doubtCup(head, cup, kind)
	return measure.Hip{Head: head, Cup: cup, CupKind: kind}, other
}

// confirm checks a head found before its shell against what shows inside the
// shell, and outlines what shows where that is another.
func (s *search) confirm(h measure.Hip) (measure.Hip, measure.Candidate) {
	m, in := s.lookIn(h.Cup.Circle)
	if m == nil {
		return h, measure.Candidate{}
	}
	b := m.best(in)
	if b.share == 0 || b.agrees(h.Head, h.Cup.R/usualShell) {
		return h, measure.Candidate{}
	}
	return s.outlineIn(h.Cup.Circle, m, in, b)
}
