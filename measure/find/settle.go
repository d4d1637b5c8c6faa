package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// lookReach is how far from a circle its edges are looked for, times the scale of
// the slope filter; tried by .ci/vary.
const lookReach = 1.5

// settle brings a circle that is right to a few px to its sub-pixel fit to the edges in
// the sectors that count; nil counts all. An outline that is rough is looked at through a
// filter as many times as wide.
func settle(patch *film.Patch, c measure.Circle, part measure.Part, counts *[sectors]bool, rough int) (measure.Outline, error) {
	s := settling{patch: patch, part: part, counts: counts, c: c, sigma: float64(rough) * film.Smoothing(c.R), rough: rough > 1}
	err := s.approach()
	switch {
	case err != nil:
	case part == measure.Head && s.soft():
		err = s.softEdges()
	default:
		s.sharpEdges()
	}
	if err != nil {
		return measure.Outline{}, ErrNoOutline
	}
	f, err := fitEdges(s.edges, s.c, append(s.ovals(s.edges), s.left...)...)
	if dropAlone(s.edges); err == nil {
		err = f.plain(s.edges)
	}
	if err != nil {
		return measure.Outline{}, ErrNoOutline
	}
	out, err := f.circle(s.edges)
	if err != nil || out.Arc < leastArc {
		return measure.Outline{}, ErrNoOutline
	}
	f.doubt(&out, s.kind, s.blur)
	o := measure.Outline{CircleFit: out, Edges: s.edges}
	show(&o, patch)
	return o, nil
}

// settling is a circle on its way to its sub-pixel fit.
type settling struct {
	patch  *film.Patch
	part   measure.Part
	counts *[sectors]bool
	sigma  float64 // px, of the slope filter
	rough  bool    // the outline scatters more than the film's blur

	c      measure.Circle
	coarse []measure.Edge // of few profiles, by which it came near
	around int            // profiles to either side that noise asks to average

	kind  edgeKind
	blur  float64 // px
	edges []measure.Edge
	left  []fit.Term
}

// edgeKind says how the film changes across an outline.
type edgeKind string

const (
	metalEdge edgeKind = "metal" // a step: metal lets hardly anything through
	shellEdge edgeKind = "shell" // the same where bone lies around, and on an arc
	softEdge  edgeKind = "soft"  // the root of the distance, the path through a ball of ceramic
)

// look returns the edge on each of n profiles of a patch, each the mean of 2 across + 1
// side by side and then of 2 around + 1, within reach px of the circle.
func (s *settling) look(p *film.Patch, n, across, around int, reach, sigma float64) []measure.Edge {
	return only(look(s.c, p, n, across, around, reach, sigma), s.counts)
}

// approach brings the circle near the edges that stand out.
func (s *settling) approach() error {
	n := max(120, s.profiles()/4)
	for range 3 { // look again where the circle has moved from under the profiles
		s.coarse = s.look(s.patch, n, 2, 0, 2*max(1, s.c.R/70), s.sigma)
		near, err := fitEdges(s.coarse, s.c)
		if err != nil {
			return err
		}
		moved := near.Center().Distance(s.c.Center()) + math.Abs(near.R-s.c.R)
		if s.c = near.Circle; moved < s.sigma {
			break
		}
	}
	dropAlone(s.coarse)
	s.around = s.patch.Around(s.c, s.coarse, s.sigma)
	return nil
}

// profiles is how many are looked at.
func (s *settling) profiles() int { return max(120, min(int(2*math.Pi*s.c.R), 720)) }

// sharpEdges finds the edges of metal, on a film that is made linear where its tone
// can be told.
func (s *settling) sharpEdges() {
	reach, n := lookReach*s.sigma, s.profiles()
	s.kind, s.blur = metalEdge, s.sigma
	if s.part == measure.Cup {
		s.kind = shellEdge
	}
	var k *film.Calibration
	ok := false
	if !s.rough {
		k, ok = film.Calibrate(s.patch, s.c, s.coarse, s.part)
	}
	if ok {
		s.blur = k.Sigma()
		linear := k.Linear(s.patch, s.c, reach+6*s.sigma)
		sigma := max(0.8, min(1.2*s.blur, s.sigma))
		s.edges = s.look(&linear, n, 0, s.around, reach, sigma)
		linear.Expect(s.edges, s.c, s.around, sigma, s.blur)
		k.Correct(s.edges, s.c, sigma)
		s.left = []fit.Term{leftOver(s.edges, sigma, s.blur)}
	} else {
		s.edges = s.look(s.patch, n, 0, s.around, reach, s.sigma)
		s.patch.Expect(s.edges, s.c, s.around, s.sigma, s.blur)
	}
}

// softSectors is the number of sectors in which the edge of a ball that rays pass is
// looked for; tried by .ci/vary.
const softSectors = 120

// soft reports whether the circle is that of a ball that rays pass.
func (s *settling) soft() bool {
	around := s.patch.Sectors(s.c, softSectors/2, 2*s.sigma)
	_, _, root := around.Edges(film.RootLaw)
	_, _, step := around.Edges(film.StepLaw)
	return root < step
}

// softEdges finds the edges of a ball that rays pass, well outside the circle on which
// the film is steepest.
func (s *settling) softEdges() error {
	s.kind = softEdge
	for _, reach := range [2]float64{3 * s.sigma, 2 * s.sigma} {
		around := s.patch.Sectors(s.c, softSectors, reach)
		s.edges, s.blur, _ = around.Edges(film.RootLaw)
		only(s.edges, s.counts)
		near, err := fitEdges(s.edges, s.c, s.ovals(s.edges)...)
		if err != nil {
			return err
		}
		s.c = near.Circle
	}
	return nil
}

// look returns the edge on each of n profiles, each the mean of 2 across + 1
// side by side and then of 2 around + 1, within reach px of c.
func look(c measure.Circle, patch *film.Patch, n, across, around int, reach, sigma float64) []measure.Edge {
	s := film.Scan{Center: c.Center(), Inner: max(0.5, c.R-reach-4*sigma), Outer: c.R + reach + 4*sigma, N: n, Across: across, Around: around, Sigma: sigma}
	return pick(s.Run(patch), s.Center, c, reach)
}
