package find

import (
	"cmp"
	"context"
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

// Hips finds the heads of opt.HeadMM on a film with bone bright and the cup
// of each, and returns the hips from image left to right: all of them, or those
// of opt.Side. Hip.Others and Refusal.Candidates hold what was weighed and not
// taken.
//
// The errors are a *Refusal where nothing convinces, ctx.Err() where ctx ended
// first, and a *measure.NoteError where opt makes no sense.
func Hips(ctx context.Context, img *image.Gray16, opt Options) ([]measure.Hip, error) {
	if !(opt.HeadMM >= 16 && opt.HeadMM <= 70) {
		return nil, measure.Fault("find.head-diameter", measure.Values{"MM": opt.HeadMM})
	}
	if opt.Spacing != 0 && !(opt.Spacing >= 0.02 && opt.Spacing <= 2) {
		return nil, measure.Fault("find.spacing", measure.Values{"MM": opt.Spacing})
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
	if hips, err = s.assignSides(hips); err != nil {
		return nil, err
	}
	for i := range hips {
		SeekRim(img, &hips[i])
	}
	return hips, nil
}

// hips returns up to two hips, the likeliest first.
func (s *search) hips(ctx context.Context) (hips []measure.Hip, err error) {
	all, heads, err := s.pairs(ctx)
	if err != nil {
		return nil, err
	}
	var taken []pair
	var others []measure.Candidate
	for _, p := range all {
		other := measure.Candidate{Head: p.head.Circle, Cup: p.cup.Circle, Reason: measure.Note{Code: lessLikely}}
		if len(taken) < 2 && !slices.ContainsFunc(taken, func(t pair) bool { return t.owns(p.head.Center()) }) {
			h, reason := s.outline(p)
			if reason == "" {
				hips, taken = append(hips, h), append(taken, p)
				continue
			}
			other.Reason = measure.Note{Code: reason}
		}
		others = append(others, other)
	}
	for _, h := range heads {
		if !slices.ContainsFunc(all, func(p pair) bool { return p.head.Circle == h.Circle }) {
			others = append(others, measure.Candidate{Head: h.Circle, Reason: measure.Note{Code: noCup}})
		}
	}
	if len(hips) == 0 {
		if len(others) == 0 {
			return nil, refused(noHead, nil)
		}
		return nil, &measure.Refusal{Reason: others[0].Reason, Candidates: others}
	}
	for _, c := range others {
		i := 0
		if len(hips) == 2 && away(c, hips[1]) < away(c, hips[0]) {
			i = 1
		}
		hips[i].Others = append(hips[i].Others, c)
	}
	return hips, nil
}

// outline brings a pair to its sub-pixel fit, or returns the code of why it is not taken.
func (s *search) outline(p pair) (h measure.Hip, reason string) {
	if reason := s.doubt(p); reason != "" {
		return h, reason
	}
	h = measure.Hip{CupKind: measure.Shell}
	var errHead, errCup error
	mm := s.opt.HeadMM / 2 / p.head.R
	film.Both(func() {
		patch := film.Crop(s.img, p.head.X, p.head.Y, 1.3*p.head.R+20)
		h.Head, errHead = surest(p.head.Circle, mm, func(c measure.Circle) (measure.Outline, error) { return settle(&patch, c, measure.Head, nil, 1) })
	}, func() {
		if p.cup.ring != nil {
			h.Cup, h.CupKind = *p.cup.ring, measure.Wire
		} else {
			h.Cup, errCup = surest(p.cup.Circle, mm, func(c measure.Circle) (measure.Outline, error) { return settleDome(s.img, c) })
		}
	})
	if errHead != nil {
		return h, faintHead
	}
	if errCup != nil {
		return h, faintCup
	}
	h.Warnings = misfits(h, s.opt.HeadMM/2/h.Head.R)
	if p.head.hidden {
		h.Warnings = append(h.Warnings, measure.Warning{Code: measure.HeadHidden})
	}
	if h.CupKind == measure.Shell {
		return h, ""
	}
	if h.Cup.Ring.B < 0.02*h.Cup.Ring.A {
		h.Warnings = append(h.Warnings, measure.Warning{Code: measure.RingEdgeOn})
	}
	if p.cup.faint || h.Cup.Arc < ringPartial {
		h.Warnings = append(h.Warnings, measure.Warning{Code: measure.RingPartial})
	}
	return h, ""
}

// surest settles a circle, and where that fails or does not tell its centre settles it
// again from places around. It returns the first outline, or one whose centre is known
// twice as well. mm is that of a pixel.
func surest(c measure.Circle, mm float64, settle func(measure.Circle) (measure.Outline, error)) (best measure.Outline, err error) {
	best, err = settle(c)
	for i := 0; i < 3 && (err != nil || mm*within(best) > surely); i++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 3)
		d := rankTol * c.R
		o, failed := settle(measure.Circle{X: c.X + d*cos, Y: c.Y + d*sin, R: c.R})
		switch {
		case failed != nil:
		case err != nil:
			best, err = o, nil
		case within(o) < within(best)/2:
			best = either(o, best)
		}
	}
	return best, err
}

// ringPartial is the arc below which a ring may have been followed to where the neck
// hides it instead of to its end: on phantom films of poor quality three such rings
// of 363 showed on 134 to 154 degrees, the others but for one on 162 or more; tried by
// .ci/vary.
const ringPartial = 160 // degrees

// away returns the distance of a candidate from a hip, px.
func away(c measure.Candidate, h measure.Hip) float64 {
	at := c.Head
	if at.R == 0 {
		at = c.Cup
	}
	return h.Cup.Center().Distance(at.Center())
}

// refused is the refusal of a film by a code and its values.
func refused(code string, v measure.Values) error {
	return &measure.Refusal{Reason: measure.Note{Code: code, Values: v}}
}

// search is one film being searched.
type search struct {
	img          *image.Gray16
	opt          Options
	small        film.Patch // the film, shrunken by k
	k            float64
	inner, outer float64 // radius of the head, px of the film
	steep        []steep // places of small that vote
}

// newSearch shrinks the film so that a head has a radius of 16 px or more.
func newSearch(img *image.Gray16, opt Options) (*search, error) {
	size := img.Bounds().Size()
	if min(size.X, size.Y) < 64 {
		return nil, refused("refusal.small-film", measure.Values{"Width": float64(size.X), "Height": float64(size.Y)})
	}
	s := &search{img: img, opt: opt}
	least, most := opt.Spacing, opt.Spacing
	if opt.Spacing == 0 {
		// A film that shows a whole hip is 120 to 500 mm large.
		far := float64(max(size.X, size.Y))
		least, most = max(0.04, 120/far), min(1, 500/far)
	}
	s.inner = opt.HeadMM / 2 * (measure.LeastMagnification - 0.03) / most
	s.outer = opt.HeadMM / 2 * (measure.MostMagnification + 0.05) / least
	s.outer = min(s.outer, float64(min(size.X, size.Y))/2)
	if s.inner < 12 || s.outer < s.inner {
		return nil, refused("refusal.small-head", nil)
	}
	k := max(1, int(s.inner/16))
	s.k = float64(k)
	s.small = film.Shrink(img, k)
	s.small.Smooth()
	if low, _, high := s.small.Quantiles(); high-low < 16 {
		return nil, refused("refusal.flat", nil)
	}
	s.steep = steepOf(&s.small)
	return s, nil
}
