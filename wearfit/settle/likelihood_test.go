package settle

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// people is a population of hips.
type people struct {
	creep, rate, tau           float64
	sdCreep, sdRate, sdTau, sd float64
	corr                       float64
}

var usual = people{creep: 0.15, rate: 0.06, tau: 0.5, sdCreep: 0.06, sdRate: 0.03, sdTau: 0.3, sd: 0.04, corr: 0.3}

var sixFilms = []float64{0, 0.25, 1, 2, 5, 10}

// drawn simulates hips that are filmed at some times, each within 5 % of it.
func (p people) drawn(hips int, times []float64, seed uint64) Data {
	r := rand.New(rand.NewPCG(seed, 7))
	var d Data
	for h := range hips {
		a, b := r.NormFloat64(), r.NormFloat64()
		creep := p.creep + p.sdCreep*a
		rate := p.rate + p.sdRate*(p.corr*a+math.Sqrt(1-p.corr*p.corr)*b)
		tau := p.tau * math.Exp(p.sdTau*r.NormFloat64())
		level := 0.5 * r.NormFloat64()
		for _, t := range times {
			t *= 1 + 0.05*(2*r.Float64()-1)
			d.Hip, d.Time = append(d.Hip, fmt.Sprint("h", h)), append(d.Time, t)
			d.Value = append(d.Value, level-creep*math.Expm1(-t/tau)+rate*t+p.sd*r.NormFloat64())
		}
	}
	return d
}

// unequal gives the readings known errors of several sizes, and every second hip
// another group's column.
func unequal(d Data) Data {
	group := make([]float64, len(d.Value))
	ones := make([]float64, len(d.Value))
	for i, h := range d.Hip {
		d.SE = append(d.SE, 0.01*float64(1+i%4))
		ones[i] = 1
		if (h[len(h)-1]-'0')%2 == 1 {
			group[i] = 1
		}
	}
	d.Rate = [][]float64{ones, group}
	return d
}

func modelOf(t *testing.T, d Data) *model {
	t.Helper()
	tb, err := newTable(d)
	require.NoError(t, err)
	m := newModel(tb, Options{})
	m.nodes = newNodes(40)
	return m
}

// The gradient is that of the value, by differences.
func TestGradient(t *testing.T) {
	for name, d := range map[string]Data{"one scatter": usual.drawn(7, sixFilms, 1), "known errors": unequal(usual.drawn(7, sixFilms, 1))} {
		m := modelOf(t, d)
		th := append(make([]float64, m.fixed()), math.Log(0.05), 0.3, -0.1, 0.25, 0.4, 0.2)
		for j := range m.fixed() {
			th[j] = 0.9 - 0.4*float64(j)
		}
		v, g := m.value(th)
		assert.InDelta(t, v, m.plain(th), 1e-10)
		for j := range th {
			const h = 1e-5
			up, down := append([]float64(nil), th...), append([]float64(nil), th...)
			up[j] += h
			down[j] -= h
			a, _ := m.value(up)
			b, _ := m.value(down)
			assert.InDelta(t, (a-b)/(2*h), g[j], 1e-6*(1+math.Abs(g[j])), "%s, parameter %d", name, j)
		}
	}
}

// brute integrates the likelihood of one hip over its level, bedding-in, rate and
// the logarithm of its time constant on a grid of four dimensions, straight from
// the model as it is written.
func brute(h *hip, th []float64, k int) float64 {
	creep, rate := 0.0, 0.0
	for j, x := range h.creep {
		creep += x * th[j]
	}
	for j, x := range h.rate {
		rate += x * th[len(h.creep)+j]
	}
	v := th[k:]
	const wide, n = 6.0, 30
	grid := make([]float64, n+1)
	for i := range grid {
		grid[i] = -wide + 2*wide*float64(i)/n
	}
	step := 2 * wide / n
	var total float64
	for _, z := range grid {
		tau := math.Exp(v[mu] + v[omega]*z)
		for _, z0 := range grid {
			for _, z1 := range grid {
				b, w := creep+v[l00]*z0, rate+v[l10]*z0+v[l11]*z1
				// The level, around what is left by the other three.
				var weight, centre float64
				rest, sd := make([]float64, len(h.t)), make([]float64, len(h.t))
				for i, t := range h.t {
					s2 := v[sigma] * v[sigma]
					if h.known != nil {
						s2 += h.known[i]
					}
					sd[i] = math.Sqrt(s2)
					rest[i] = h.y[i] - b*(1-math.Exp(-t/tau)) - w*t
					weight += 1 / s2
					centre += rest[i] / s2
				}
				centre /= weight
				prior := math.Exp(-(z*z+z0*z0+z1*z1)/2) / math.Pow(2*math.Pi, 1.5)
				for _, zc := range grid {
					c := centre + zc/math.Sqrt(weight)
					like := 1 / math.Sqrt(weight)
					for i, r := range rest {
						e := (r - c) / sd[i]
						like *= math.Exp(-e*e/2) / (sd[i] * math.Sqrt(2*math.Pi))
					}
					total += like * prior
				}
			}
		}
	}
	return math.Log(total * step * step * step * step)
}

// The likelihood is that of the model integrated by brute force.
func TestBruteForce(t *testing.T) {
	d := usual.drawn(10, []float64{0, 0.3, 1, 4}, 3)
	for name, d := range map[string]Data{"one scatter": d, "known errors": unequal(d)} {
		m := modelOf(t, d)
		m.hips = m.hips[1:2]
		th := append(make([]float64, m.fixed()), math.Log(0.1), 0.4, -0.15, 0.3, 0.5, 0.2)
		for j := range m.fixed() {
			th[j] = 0.9 - 0.4*float64(j)
		}
		want := brute(&m.hips[0], th, m.fixed())
		assert.InDelta(t, want, m.plain(th), 1e-6, name)
	}
}

// Twice as many nodes change nothing at the best fit, which looks for that itself:
// here is a cohort that needs more than the search begins with.
func TestNodes(t *testing.T) {
	sharp := people{creep: 1, rate: 0.05, tau: 0.5, sdCreep: 0.1, sdRate: 0.02, sdTau: 0.8, sd: 0.01}
	for name, c := range map[string]struct {
		d     Data
		least int
	}{
		"as usual":      {usual.drawn(20, sixFilms, 2), leastNodes + 1},
		"sharp, varied": {sharp.drawn(20, []float64{0, 0.1, 0.2, 0.4, 0.8, 1.6, 3, 6}, 2), 2*leastNodes + 1},
	} {
		f, err := Fit(c.d, Options{})
		require.NoError(t, err)
		assert.GreaterOrEqual(t, f.Nodes, c.least, name)
		m := *f.model
		once := m.plain(f.best)
		m.nodes = newNodes(2 * (f.Nodes - 1))
		assert.InDelta(t, m.plain(f.best), once, 1e-4, name)
	}
}
