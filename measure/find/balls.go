package find

import (
	"cmp"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ball is what may be a head: its outline, px of the film, and the logarithms of how
// many times likelier the film is with it than without.
type ball struct {
	measure.Circle
	place measure.Circle // where it was looked for
	edge  float64        // for the outline
	body  float64        // for what it bounds

	hidden bool // it was found from the shell around it, not by itself
}

func (b ball) sure() float64 { return b.edge + b.body }

func likelier(a, b ball) int { return cmp.Compare(b.sure(), a.sure()) }

// apart reports whether two balls are of different heads.
func (s *search) apart(a, b ball) bool {
	limit := headApart * a.R / (s.opt.HeadMM / 2)
	return a.Center().Distance(b.Center()) >= limit || a.R-b.R >= limit || b.R-a.R >= limit
}

// headApart is how far from each other circles of different heads are, mm; tried by
// .ci/vary.
const headApart = 0.8

// balls returns what may be heads, the likeliest first.
func (s *search) balls() []ball {
	places := s.vote(s.inner, s.outer, 8)
	all := make([]ball, len(places))
	film.InBands(len(places), func(from, to int) {
		for i := from; i < to; i++ {
			c := places[i].Circle
			v, ok := s.beside(c)
			if !ok {
				continue
			}
			c = v.cells(c)
			if found, err := seek(&v.Patch, c, max(3, 0.3*c.R)); err == nil {
				all[i] = weigh(&v, found)
				all[i].place = places[i].Circle
			}
		}
	})
	all = slices.DeleteFunc(all, func(b ball) bool { return b.R == 0 })
	slices.SortFunc(all, likelier)
	return all
}

// around returns the film around a head as far as its cup may reach.
func (s *search) around(head measure.Circle) (view, bool) {
	return s.view(head.Center(), s.reach(head), head.R)
}

// beside returns of what around does as much as a head is sought and weighed on.
func (s *search) beside(head measure.Circle) (view, bool) {
	return s.middle(head.Center(), 2*head.R+8, s.reach(head), head.R)
}

// reach is how far the cup of a head may reach, and what lies beside it, px.
func (s *search) reach(head measure.Circle) float64 {
	return (mostShell + 8) * head.R / (s.opt.HeadMM / 2)
}

// weigh returns a ball of a view. Balls that rays pass are steepest inside their outline.
func weigh(v *view, c measure.Circle) ball {
	b := ball{Circle: v.px(c), place: v.px(c)}
	q := ranksOf(&v.Patch, c, 1)
	for d := -2.0; d <= 1; d++ {
		o := q.at(c.R + d*q.tol)
		b.edge = max(b.edge, o.whole())
		if d == 0 {
			b.body = ballBody(&v.Patch, c, &o)
		}
	}
	return b
}

func (s *search) fits(b ball) bool { return b.R >= s.inner && b.R <= s.outer }
