package survive

// Incidence is the share of liners for which each event came first, by a time.
type Incidence struct {
	Years  float64
	AtRisk int
	Free   Share   // of any event
	Of     []Share // by event code, from 1 on
}

// AalenJohansen returns the cumulative incidence at the given times of the events from 1
// to events: revision and what competes with it (Aalen OO, Johansen S. Scand J Stat
// 1978;5:141-150). Standard errors are those of the infinitesimal jackknife, over
// patients where one has more than one liner. The complement of Kaplan-Meier with
// deaths censored is higher: it is the share revised if nobody died.
func AalenJohansen(liners []Liner, years []float64, events int) ([]Incidence, error) {
	c, err := newCohort(liners)
	if err != nil {
		return nil, err
	}
	paths := []path{c.path(anyEvent)}
	for k := range events {
		paths = append(paths, c.path(k+1))
	}
	out := make([]Incidence, len(years))
	for i, at := range years {
		r := Incidence{Years: at}
		var people int
		r.AtRisk, people = c.atRisk(at)
		for k, p := range paths {
			s := p.at(at, people)
			if k == 0 {
				r.Free = s
			} else {
				r.Of = append(r.Of, s)
			}
		}
		out[i] = r
	}
	return out, nil
}

// anyEvent is the code of whatever event comes first.
const anyEvent = -1

// path is the cumulative incidence of one event from moment to moment.
type path struct {
	*cohort
	event  int
	points []pathPoint
}

// pathPoint is where a path is after a moment, with what a liner that is at risk until
// then has lost to it, by the hazard of any event h and of its own k there:
//
//	a = Σ S k / n,  b = Σ h / (n - events),  c = Σ h F / (n - events)
//
// with S the share free of events just before, n at risk, F the path after.
type pathPoint struct {
	free, share float64
	a, b, c     float64
}

func (m moment) of(event int) float64 {
	if event == anyEvent {
		return float64(m.events())
	}
	return float64(m.ends[event])
}

func (c *cohort) path(event int) path {
	p := path{cohort: c, event: event}
	now := pathPoint{free: 1}
	for _, m := range c.moments {
		n, all := float64(len(c.liners)-m.first), m.of(anyEvent)
		k := m.of(event) / n
		now.share += now.free * k
		now.a += now.free * k / n
		if stay := n - all; stay > 0 {
			now.b += all / n / stay
			now.c += all / n * now.share / stay
			now.free *= 1 - all/n
		} else {
			now.free = 0 // and the path is at its end
		}
		p.points = append(p.points, now)
	}
	return p
}

// at returns the path at a time, people being the patients at risk then; of any
// event, the share that is free of it.
func (p path) at(years float64, people int) Share {
	last := -1
	for k, m := range p.moments {
		if m.years > years {
			break
		}
		last = k
	}
	s := Share{alone: people}
	if last >= 0 {
		s.Value = p.points[last].share
		if s.edge() > 0 {
			s.alone = p.moments[last].people
		}
		if s.edge() == 0 {
			s.SE = p.across(p.influence(last))
		}
	}
	if p.event == anyEvent {
		s.Value = 1 - s.Value
	}
	return s
}

// influence returns the derivative of the path after a moment by the weight of each
// liner (Jaeckel LA. The infinitesimal jackknife. Bell Laboratories 1972; Efron B.
// The Jackknife, the Bootstrap and Other Resampling Plans. SIAM 1982, chapter 6).
func (p path) influence(last int) []float64 {
	out := make([]float64, len(p.liners))
	end := p.points[last].share
	for k, m := range p.moments {
		at := p.points[min(k, last)]
		lost := -at.a + end*at.b - at.c
		before := 1.0
		if k > 0 {
			before = p.points[k-1].free
		}
		n := float64(len(p.liners) - m.first)
		for i := m.first; i < m.next; i++ {
			out[i] = lost
			e := p.liners[i].Event
			if k > last || e == InPlace {
				continue
			}
			if p.event == anyEvent || e == p.event {
				out[i] += before / n
			}
			if stay := n - m.of(anyEvent); stay > 0 {
				out[i] -= (end - at.share) / stay
			}
		}
	}
	return out
}
