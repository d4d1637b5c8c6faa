package find

import (
	"cmp"
	"context"
	"fmt"
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// Options guide Hips. HeadMM is required.
type Options struct {
	HeadMM  float64      // nominal head diameter, mm
	Spacing float64      // mm per pixel at the detector; 0 where unknown
	Side    measure.Side // the hip wanted; SideUnknown for every hip on the film
}

// The magnification of an AP pelvis film is taken to be 1.05 to 1.35 (common
// practice, no source); the search goes a little further and warns.
const (
	leastMagnification = 1.05
	mostMagnification  = 1.35
)

// Hips finds the heads of opt.HeadMM on a film with bone bright and the cup
// of each, and returns the hips from image left to right: all of them, or those
// of opt.Side. Hip.Others and Refusal.Candidates hold what was weighed and not
// taken.
//
// The errors are a *Refusal where nothing convinces, ctx.Err() where ctx ended
// first, and a plain error where opt makes no sense.
func Hips(ctx context.Context, img *image.Gray16, opt Options) ([]measure.Hip, error) {
	if !(opt.HeadMM >= 16 && opt.HeadMM <= 70) {
		return nil, fmt.Errorf("measure: head diameter %g mm is outside 16 to 70", opt.HeadMM)
	}
	if opt.Spacing != 0 && !(opt.Spacing >= 0.02 && opt.Spacing <= 2) {
		return nil, fmt.Errorf("measure: spacing %g mm per pixel is outside 0.02 to 2", opt.Spacing)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s, err := newSearch(img, opt)
	if err != nil {
		return nil, err
	}
	hips, err := s.hips(ctx)
	if err != nil {
		return nil, err
	}
	slices.SortFunc(hips, func(a, b measure.Hip) int { return cmp.Compare(a.Head.X, b.Head.X) })
	for i := range hips {
		SeekRim(img, &hips[i])
	}
	return s.assignSides(hips)
}

// hips returns up to two hips: by their heads, then by shells that hide the head.
func (s *search) hips(ctx context.Context) (hips []measure.Hip, err error) {
	best := "no hip prosthesis: no bright disc of the head's size"
	var weighed []measure.Candidate
	for _, c := range s.candidates() {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if slices.ContainsFunc(hips, func(h measure.Hip) bool { return owns(h, c.Center()) }) {
			continue
		}
		h, reason := s.examine(c)
		if reason != "" {
			weighed = append(weighed, measure.Candidate{Head: c.Circle, Reason: reason})
			if reason == noCup {
				best = reason
			}
			continue
		}
		if h.CupKind == measure.Shell {
			var other measure.Candidate
			if h, other = s.confirm(h); other.Reason != "" {
				weighed, best = append(weighed, other), other.Reason
				continue
			}
		}
		if hips = append(hips, h); len(hips) == 2 {
			break
		}
	}
	if len(hips) < 2 {
		for _, c := range s.shells(hips) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			h, other := s.headIn(c.Circle)
			if other.Reason != "" {
				weighed, best = slices.Insert(weighed, 0, other), other.Reason
				continue
			}
			if hips = append(hips, h); len(hips) == 2 {
				break
			}
		}
	}
	if len(hips) == 0 {
		return nil, &measure.Refusal{Reason: best, Candidates: weighed}
	}
	for _, c := range weighed {
		h := &hips[0]
		if len(hips) == 2 && away(c, hips[1]) < away(c, hips[0]) {
			h = &hips[1]
		}
		h.Others = append(h.Others, c)
	}
	return hips, nil
}

// owns reports whether a place is too near a hip for it to be another's: the
// centres of two hips lie 140 mm apart or more (common practice, no source), five
// radii of a cup, and the stem between.
func owns(h measure.Hip, p measure.Point) bool { return h.Cup.Center().Distance(p) < 3*h.Cup.R }

// away returns the distance of a candidate from a hip, px.
func away(c measure.Candidate, h measure.Hip) float64 {
	at := c.Head
	if at.R == 0 {
		at = c.Cup
	}
	return h.Cup.Center().Distance(at.Center())
}

// search is one film being searched.
type search struct {
	img          *image.Gray16
	opt          Options
	small        film.Patch // the film, shrunken by k
	k            float64
	levels       film.Levels
	inner, outer float64 // radius of the head, px of the film
}

const noCup = "a metal head without a cup's outline around it"

// newSearch shrinks the film so that a head has a radius of 16 px or more.
func newSearch(img *image.Gray16, opt Options) (*search, error) {
	size := img.Bounds().Size()
	if min(size.X, size.Y) < 64 {
		return nil, &measure.Refusal{Reason: fmt.Sprintf("a film of %d by %d pixels is too small", size.X, size.Y)}
	}
	s := &search{img: img, opt: opt}
	least, most := opt.Spacing, opt.Spacing
	if opt.Spacing == 0 {
		// A film that shows a whole hip is 120 to 500 mm large.
		far := float64(max(size.X, size.Y))
		least, most = max(0.04, 120/far), min(1, 500/far)
	}
	s.inner = opt.HeadMM / 2 * (leastMagnification - 0.03) / most
	s.outer = opt.HeadMM / 2 * (mostMagnification + 0.05) / least
	s.outer = min(s.outer, float64(min(size.X, size.Y))/2)
	if s.inner < 12 || s.outer < s.inner {
		return nil, &measure.Refusal{Reason: "the head would be too small on this film"}
	}
	k := max(1, int(s.inner/16))
	s.k = float64(k)
	s.small = film.Shrink(img, k)
	s.small.Smooth()
	s.levels = s.small.Quantiles()
	if s.levels.High-s.levels.Low < 16 {
		return nil, &measure.Refusal{Reason: "the film is flat"}
	}
	return s, nil
}

// candidates returns likely heads in px of the film.
func (s *search) candidates() []candidate {
	found := vote(&s.small, s.inner/s.k, s.outer/s.k, 8)
	for i := range found {
		c := &found[i]
		c.X, c.Y, c.R = c.X*s.k, c.Y*s.k, c.R*s.k
	}
	return found
}

// examine outlines head and cup at a candidate; the reason says what does not
// convince.
func (s *search) examine(c candidate) (h measure.Hip, reason string) {
	head, err := Refine(s.img, c.Circle, measure.Head)
	if err != nil {
		return h, "no outline"
	}
	if reason := s.doubtHead(head); reason != "" {
		return h, reason
	}
	cup, kind, err := findCup(s.img, head, s.opt.HeadMM)
	if err != nil {
		return h, noCup
	}
	if reason := s.doubtCup(head, cup, kind); reason != "" {
		return h, reason
	}
	h = measure.Hip{Head: head, Cup: cup, CupKind: kind}
	if kind == measure.Wire && cup.Ring.B < 0.02*cup.Ring.A {
		h.Warnings = append(h.Warnings, warnEdgeOn())
	}
	if kind == measure.Wire && cup.Arc < ringPartial {
		h.Warnings = append(h.Warnings, warnPartial())
	}
	return h, ""
}

// ringPartial is the arc below which a ring may have been followed to where the neck
// hides it instead of to its end: on phantom films of poor quality three such rings
// of 363 showed on 134 to 154 degrees, the others but for one on 162 or more.
const ringPartial = 160 // degrees

// Limits of doubtHead, from phantom films. A metal head has an arc of 290
// degrees or more, a level of 0.96 or more and an unevenness below 0.02; a
// ceramic one 0.95 and 0.09; a native head 0.85 and 0.12.
const (
	headArc    = 190
	headRMS    = 0.0095
	headLevel  = 0.88
	headUneven = 0.10
	headFall   = 0.015
)

// Limits for a head behind a shell as dense as itself, whose outline is faint on
// most of its way: even metal that is brighter inside than outside almost
// everywhere. Circles drawn across such a shell have an RMS of 0.0106 of the
// radius and more, and are brighter inside in up to 0.78 of the directions.
const (
	faintRMS      = 0.0105
	faintLevel    = 0.98
	faintUneven   = 0.01
	faintBrighter = 0.8
)

// doubtHead says why an outline is not that of a metal head.
func (s *search) doubtHead(o measure.Outline) string {
	span := s.levels.High - s.levels.Middle
	mean, sd, n := s.small.Disc(o.X/s.k, o.Y/s.k, 0.8*o.R/s.k)
	switch {
	case o.R < s.inner || o.R > s.outer:
		return "a disc of another size"
	case (mean-s.levels.Middle)/span > faintLevel && sd/span < faintUneven && o.Arc >= headArc &&
		o.RMS <= faintRMS*o.R && s.brighterInside(o) >= faintBrighter:
		return ""
	case o.Arc < headArc || o.RMS > max(headRMS*o.R, 0.6):
		return "no round outline"
	case n == 0 || span <= 0 || (mean-s.levels.Middle)/span < headLevel:
		return "a disc that is not metal"
	case sd/span > headUneven:
		return "an uneven disc"
	}
	var around []float64
	for i := range 72 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 72)
		if v, ok := s.small.At((o.X+1.15*o.R*cos)/s.k, (o.Y+1.15*o.R*sin)/s.k); ok {
			around = append(around, v)
		}
	}
	if len(around) < 60 || (mean-film.Median(around))/span < headFall {
		return "a disc that does not stand out"
	}
	return ""
}

// bareArc is the least arc, degrees, of a head in a cup that hides nothing of it.
// On phantom films such heads have 290 or more.
const bareArc = 240

// doubtCup says why an outline is not that of a cup around the head.
func (s *search) doubtCup(head, cup measure.Outline, kind measure.CupKind) string {
	mm := s.opt.HeadMM / 2 / head.R
	offset := math.Hypot(head.X-cup.X, head.Y-cup.Y)
	switch {
	case cup.R*mm < 16 || cup.R*mm > 37:
		return "a cup of another size"
	case offset > cup.R-head.R:
		return "a head outside the cup"
	case kind == measure.Shell && (cup.Arc < 95 || cup.RMS > max(0.012*cup.R, 0.8)):
		return noCup
	case kind == measure.Wire && (cup.Arc < wireArc || head.Arc < bareArc):
		return noCup
	}
	return ""
}

// brighterInside returns the share of 120 directions in which the film just
// inside the outline is brighter than just outside: near one for a disc, however
// faint, and near a half for a circle drawn across even metal.
func (s *search) brighterInside(o measure.Outline) float64 {
	gap, wide := 1.5*film.Smoothing(o.R), 0.04*o.R
	patch := film.Crop(s.img, o.X, o.Y, o.R+gap+wide+4)
	if patch.V == nil {
		return 0
	}
	band := func(sin, cos, from float64) (sum float64) {
		for r := from; r < from+wide; r++ {
			for k := -2.0; k <= 2; k++ {
				v, ok := patch.At(o.X+r*cos-k*sin, o.Y+r*sin+k*cos)
				if !ok {
					return math.NaN()
				}
				sum += v
			}
		}
		return sum
	}
	brighter := 0.0
	for i := range 120 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 120)
		if band(sin, cos, o.R-gap-wide) > band(sin, cos, o.R+gap) {
			brighter++
		}
	}
	return brighter / 120
}
