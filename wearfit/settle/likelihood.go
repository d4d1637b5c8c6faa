package settle

import (
	"math"
	"sync"
)

// model is the table with the layout of its parameters: coefficients of the
// bedding-in's and of the rate's columns, then those below, then the coefficients of the
// time constant's columns.
type model struct {
	*table
	uncorrelated bool
	nodes        nodes
	lo           float64 // range of mu
	hi           float64
}

// The parameters after the coefficients, counted from their end.
const (
	mu    = iota // mean of the logarithm of the time constant
	l00          // Cholesky factor of the covariance of bedding-in and rate
	l10          //
	l11          //
	omega        // SD of the logarithm of the time constant
	sigma        // SD of what films scatter beyond their known errors
	own          // how many
)

func newModel(tb *table, o Options) *model {
	return &model{table: tb, uncorrelated: o.Uncorrelated, nodes: newNodes(leastNodes),
		lo: math.Log(tb.soonest / tb.years / tauBelow), hi: math.Log(tb.last / tb.years * tauAbove)}
}

func (m *model) fixed() int { return m.creep.n + m.rate.n }
func (m *model) size() int  { return m.fixed() + own + m.tau.n - 1 }

// nodes are the points at which the time constant's logarithm is taken, in SDs
// from its mean, and the logarithms of their weights: the trapezoidal rule, whose
// error for a smooth integrand that dies away falls exponentially with the
// distance of its points (Trefethen LN, Weideman JAC. SIAM Rev 2014;56:385-458).
// It does as well as the rule of Gauss and Hermite, and doubling it keeps the
// points there are.
type nodes struct{ z, w []float64 }

// reach is where the nodes end: 2e-8 of a normal distribution lies beyond.
const reach = 5.6

func newNodes(n int) nodes {
	var k nodes
	step := 2 * reach / float64(n)
	for i := range n + 1 {
		z := -reach + float64(i)*step
		k.z = append(k.z, z)
		k.w = append(k.w, math.Log(step/math.Sqrt(2*math.Pi))-z*z/2)
	}
	return k
}

// pass is one point of the parameters prepared for all hips.
type pass struct {
	*model
	th  []float64
	inv []float64  // 1/tau at the nodes
	s2  float64    // sigma²
	l   [3]float64 // factor of the covariance of bedding-in and rate
}

func (m *model) pass(th []float64) *pass {
	k := m.fixed()
	p := &pass{model: m, th: th, s2: th[k+sigma] * th[k+sigma], l: [3]float64{th[k+l00], th[k+l10], th[k+l11]}}
	for _, z := range m.nodes.z {
		p.inv = append(p.inv, math.Exp(-th[k+mu]-th[k+omega]*z))
	}
	return p
}

// mean returns the bedding-in and the rate that are expected of a hip.
func (p *pass) mean(h *hip) (creep, rate float64) {
	for j, x := range h.creep {
		creep += x * p.th[j]
	}
	for j, x := range h.rate {
		rate += x * p.th[len(h.creep)+j]
	}
	return creep, rate
}

// quicker is how many times faster than the middle hip's a hip's bedding-in dies away by
// its columns.
func (p *pass) quicker(h *hip) float64 {
	var log float64
	for j, x := range h.tau {
		log += x * p.th[p.fixed()+own+j]
	}
	return math.Exp(-log)
}

// chunks is how many parts the hips are summed in: fixed, so that the result does
// not depend on the machine.
const chunks = 16

// value returns the logarithm of the likelihood of differences between the films
// of each hip, and its gradient; -Inf where it cannot be computed.
func (m *model) value(th []float64) (float64, []float64) {
	p := m.pass(th)
	parts := make([]*tally, chunks)
	if len(m.hips) < 4*chunks {
		parts = parts[:1]
	}
	var wg sync.WaitGroup
	for c := range parts {
		parts[c] = newTally(p)
		work := func() {
			for i := len(m.hips) * c / len(parts); i < len(m.hips)*(c+1)/len(parts); i++ {
				parts[c].add(&m.hips[i])
			}
		}
		if len(parts) == 1 {
			work()
			continue
		}
		wg.Go(work)
	}
	wg.Wait()
	var sum float64
	grad := make([]float64, m.size())
	for _, t := range parts {
		sum += t.value
		for j, g := range t.grad {
			grad[j] += g
		}
	}
	if math.IsNaN(sum) {
		return math.Inf(-1), grad
	}
	return sum, grad
}

// plain is value without the gradient, in the goroutine of its caller.
func (m *model) plain(th []float64) float64 {
	t := newTally(m.pass(th))
	for i := range m.hips {
		if h := &m.hips[i]; len(h.t) > 1 {
			most, total := t.expect(h)
			t.value += most + math.Log(total)
		}
	}
	if math.IsNaN(t.value) {
		return math.Inf(-1)
	}
	return t.value
}

// tally adds up hips at one point of the parameters.
type tally struct {
	*pass
	value float64
	grad  []float64
	films sums
	at    []node
}

// node is one time constant of a hip, and the logarithm of its weight times the
// likelihood.
type node struct {
	normal normal
	given  given
	log    float64
	share  float64 // exp(log), over the most of the hip
}

func newTally(p *pass) *tally {
	return &tally{pass: p, grad: make([]float64, p.size()), at: make([]node, len(p.inv))}
}

// expect fills in the nodes of one hip. The likelihood is exp(most) total.
func (t *tally) expect(h *hip) (most, total float64) {
	t.films.set(h, t.s2)
	creep, rate := t.mean(h)
	most = math.Inf(-1)
	quicker := t.quicker(h)
	for q, inv := range t.inv {
		k := &t.at[q]
		k.normal = t.films.bend(quicker * inv)
		k.given = k.normal.given(t.l, creep, rate)
		k.log = t.nodes.w[q] + t.films.likelihood(&k.normal, &k.given, creep, rate)
		most = max(most, k.log)
	}
	for q := range t.at {
		k := &t.at[q]
		k.share = math.Exp(k.log - most)
		total += k.share
	}
	return most, total
}

// add adds the likelihood of one hip, and its gradient, which is the mean of the
// scores at the nodes over the distribution of the time constant given the films
// (Fisher's identity; Louis TA. J R Stat Soc B 1982;44:226-233).
func (t *tally) add(h *hip) {
	if len(h.t) < 2 {
		return // one film has nothing to differ from
	}
	most, total := t.expect(h)
	var spread float64
	var s [7]float64
	for q := range t.at {
		k := &t.at[q]
		w := k.share / total
		if w < 1e-17 {
			continue
		}
		v := t.films.score(&k.normal, &k.given)
		for j := range s {
			s[j] += w * v[j]
		}
		spread += w * v[6] * t.nodes.z[q]
	}
	t.value += most + math.Log(total)
	t.chain(h, s, spread)
}

// chain takes the scores of one hip to the parameters.
func (t *tally) chain(h *hip, s [7]float64, spread float64) {
	n := len(h.creep)
	for j, x := range h.creep {
		t.grad[j] += x * s[0]
	}
	for j, x := range h.rate {
		t.grad[n+j] += x * s[1]
	}
	g, th := t.grad[t.fixed():], t.th[t.fixed():]
	g[mu] += s[6]
	for j, x := range h.tau {
		g[own+j] += x * s[6]
	}
	g[omega] += spread
	g[l00] += 2*s[2]*t.l[0] + 2*s[3]*t.l[1]
	g[l10] += 2*s[3]*t.l[0] + 2*s[4]*t.l[1]
	g[l11] += 2 * s[4] * t.l[2]
	g[sigma] += 2 * th[sigma] * s[5]
}
