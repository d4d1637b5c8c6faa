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
	edge float64 // for the outline
	body float64 // for what it bounds
	view *view   // the film around it
}

func (b ball) sure() float64 { return b.edge + b.body }

// likelier orders balls.
func likelier(a, b ball) int { return cmp.Compare(b.sure(), a.sure()) }

// apart reports whether two balls are of different heads.
func (s *search) apart(a, b ball) bool {
	limit := headApart * a.R / (s.opt.HeadMM / 2)
	return a.Center().Distance(b.Center()) >= limit || a.R-b.R >= limit || b.R-a.R >= limit
}

// headApart is how far from each other circles of different heads are, mm.
const headApart = 0.8

// balls returns what may be heads, the likeliest first.
func (s *search) balls() []ball {
	places := s.candidates()
	all := make([]ball, len(places))
	film.InBands(len(places), func(from, to int) {
		for i := from; i < to; i++ {
			c := places[i].Circle
			v, ok := s.around(c)
			if !ok {
				continue
			}
			c = v.cells(c)
			if found, err := seek(&v.Patch, c, max(3, 0.3*c.R)); err == nil {
				all[i] = weigh(&v, found)
			}
		}
	})
	all = slices.DeleteFunc(all, func(b ball) bool { return b.view == nil })
	slices.SortFunc(all, likelier)
	return all
}

// around returns the film around a head as far as its cup may reach.
func (s *search) around(head measure.Circle) (view, bool) {
	return s.view(head.Center(), (mostShell+8)*head.R/(s.opt.HeadMM/2), head.R)
}

// weigh returns a ball of a view. Balls that rays pass are steepest inside their outline.
func weigh(v *view, c measure.Circle) ball {
	b := ball{Circle: v.px(c), view: v}
	q := ranksOf(&v.Patch, c)
	for d := -2.0; d <= 1; d++ {
		o := q.at(c.R + d*q.tol)
		b.edge = max(b.edge, o.whole())
		if d == 0 {
			b.body = ballBody(&v.Patch, c, &o)
		}
	}
	return b
}

// fits reports whether a ball has the size that was asked for.
func (s *search) fits(b ball) bool { return b.R >= s.inner && b.R <= s.outer }
