package survive

import (
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// Gray tests that groups have the same cumulative incidence of an event, where other
// events compete with it (Gray RJ. Ann Stat 1988;16:1141-1154, with rho = 0). It
// differs from LogRank, which asks for the hazard among those at risk. It counts two
// liners of one patient as two.
func Gray(event int, groups ...[]Liner) (Test, error) {
	all, err := turns(groups, event)
	if err != nil {
		return Test{}, err
	}
	g := newGray(len(groups))
	for _, t := range all {
		g.pass(t)
	}
	return alike(g.z, g.variance())
}

// gray is Gray's score and what its variance is made of. The score of a group is its
// events less the share of all events that falls to it by r = Y (1 - F) / S: those at
// risk, Y, taken for those that have not had the event, with S free of any event and F
// the incidence so far.
type gray struct {
	k           int
	z           []float64
	free, share []float64   // S and F of each group, just before the next turn
	null        float64     // F of all groups as one
	c           *mat.Dense  // what a group's score (row) takes from a group's (column) incidence, summed
	steps       []*grayStep // turns
}

// grayStep is a turn in the variance; slices are by group.
type grayStep struct {
	h          []float64  // Y / S, as if nobody had left but by the event
	a          *mat.Dense // of c, at this turn
	c          *mat.Dense // c after it
	odds       []float64  // (1 - F of all) / S after it
	own, other []float64  // variances of the event's and the others' counts, over h²
}

func newGray(k int) *gray {
	g := &gray{k: k, z: make([]float64, k), share: make([]float64, k), c: mat.NewDense(k, k, nil)}
	for range k {
		g.free = append(g.free, 1)
	}
	return g
}

func (g *gray) pass(t turn) {
	s := &grayStep{h: make([]float64, g.k), odds: make([]float64, g.k), own: make([]float64, g.k), other: make([]float64, g.k)}
	for k, y := range t.risk {
		if y > 0 {
			s.h[k] = y / g.free[k]
		}
	}
	h := floats.Sum(s.h)
	_, own := t.total()
	g.score(t, s.h, own)
	step, before := own/h, 1-g.null
	g.null += step
	s.a = mat.NewDense(g.k, g.k, nil)
	for a := range g.k {
		for b := range g.k {
			s.a.Set(a, b, -s.h[a]/h*s.h[b])
		}
		s.a.Set(a, a, s.a.At(a, a)+s.h[a])
	}
	if step > 0 && before > 0 {
		var c mat.Dense
		c.Scale(step/before, s.a)
		g.c.Add(g.c, &c)
	}
	s.c = mat.DenseCopyOf(g.c)
	g.leave(t, s, step, own)
	g.steps = append(g.steps, s)
}

// score adds what is observed less what falls to each group.
func (g *gray) score(t turn, h []float64, own float64) {
	r := make([]float64, g.k)
	for k := range r {
		r[k] = h[k] * (1 - g.share[k])
	}
	all := floats.Sum(r)
	if all == 0 {
		return
	}
	for k := range r {
		g.z[k] += t.own[k] - own*r[k]/all
	}
}

// leave moves each group past the turn.
func (g *gray) leave(t turn, s *grayStep, step, own float64) {
	h := floats.Sum(s.h)
	for k, y := range t.risk {
		if y == 0 {
			continue
		}
		free := g.free[k]
		s.own[k] = step / s.h[k] * untied(own, h*free)
		s.other[k] = free * t.other[k] / y / s.h[k] * untied(t.other[k], y)
		g.share[k] += free * t.own[k] / y
		if gone := t.own[k] + t.other[k]; gone < y {
			g.free[k] *= 1 - gone/y
			s.odds[k] = (1 - g.null) / g.free[k]
		}
	}
}

// untied is by how much d events at one time, among n, vary less than d at d times; not
// below 0, as another program (cmprsk 2.2) lets it be where n, which weighs all groups as
// one of them, is less than d.
func untied(d, n float64) float64 {
	if d <= 1 {
		return 1
	}
	if n <= d {
		return 0
	}
	return 1 - (d-1)/(n-1)
}

// variance is the covariance of the scores: Gray's equation for the
// variance, in which a group's event at a time acts on a score there and, through the
// incidence, on what follows.
func (g *gray) variance() *mat.SymDense {
	v := mat.NewSymDense(g.k, nil)
	own, other := make([]float64, g.k), make([]float64, g.k)
	for _, s := range g.steps {
		for b := range g.k {
			if s.h[b] == 0 {
				continue
			}
			for a := range own {
				rest := g.c.At(a, b) - s.c.At(a, b)
				own[a] = s.a.At(a, b) + (1-s.odds[b])*rest
				other[a] = -s.odds[b] * rest
			}
			for i := range g.k {
				for j := i; j < g.k; j++ {
					v.SetSym(i, j, v.At(i, j)+own[i]*own[j]*s.own[b]+other[i]*other[j]*s.other[b])
				}
			}
		}
	}
	return v
}
