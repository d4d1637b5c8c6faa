package settle

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"linerwatch/wearfit"
)

// Course is what the films of one hip and a cohort tell of that hip: a mixture of
// normal distributions of its bedding-in and rate, one for each draw of the
// cohort's parameters and each time constant.
type Course struct {
	Hip   string
	Films int
	// Hips is how many hips the cohort has that the course rests on.
	Hips int
	// Draws is how many of the cohort's draws count: few where the cohort makes
	// the hip's films unlikely.
	Draws    float64
	parts    []part
	baseline float64 // time of its first film, years
	mm, per  float64 // units
}

// part is one draw and time constant.
type part struct {
	w          float64
	inv        float64 // 1/tau
	b0, b1     float64
	k          [3]float64
	bend, t, y float64 // means of the films
	level      float64 // variance of the mean of the films
	s2         float64
}

// Between is a value with an interval.
type Between struct {
	Value float64 // the median
	wearfit.Interval
}

// leastPart is the weight below which a time constant is left out of a draw.
const leastPart = 1e-4

// course weighs the draws by what they say of the hip's films, where the cohort
// has not seen them.
func (b *Belief) course(h *hip, known bool) Course {
	c := Course{Hip: h.name, Films: len(h.t), Hips: b.Hips, mm: b.model.mm, per: b.model.years}
	c.baseline = math.Inf(1)
	for _, t := range h.t {
		c.baseline = min(c.baseline, t*c.per)
	}
	var f sums
	from := make([]int, 0, len(b.draws))
	logs := make([]float64, 0, len(b.draws))
	for _, th := range b.draws {
		p := b.model.pass(th)
		f.set(h, p.s2)
		creep, rate := p.mean(h)
		from = append(from, len(c.parts))
		logs = append(logs, c.add(&f, p, p.quicker(h), creep, rate))
	}
	c.weigh(from, logs, known)
	return c
}

// add adds the parts of one draw, and returns the logarithm of what the films'
// likelihood is by it.
func (c *Course) add(f *sums, p *pass, quicker, creep, rate float64) float64 {
	from, most := len(c.parts), math.Inf(-1)
	for q, inv := range p.inv {
		inv *= quicker
		n := f.bend(inv)
		g := n.given(p.l, creep, rate)
		log := p.nodes.w[q] + f.likelihood(&n, &g, creep, rate)
		most = max(most, log)
		c.parts = append(c.parts, part{w: log, inv: inv, b0: g.b0, b1: g.b1, k: g.k,
			bend: n.mean, t: f.meanT, y: f.meanY, level: 1 / f.weight, s2: p.s2})
	}
	var sum float64
	kept := c.parts[:from]
	for _, q := range c.parts[from:] {
		if q.w = math.Exp(q.w - most); q.w > leastPart {
			sum += q.w
			kept = append(kept, q)
		}
	}
	c.parts = kept
	for i := from; i < len(kept); i++ {
		kept[i].w /= sum
	}
	return most + math.Log(sum)
}

// weigh makes the weights of all parts sum to 1.
func (c *Course) weigh(from []int, logs []float64, known bool) {
	most := math.Inf(-1)
	for _, v := range logs {
		most = max(most, v)
	}
	var sum float64
	w := make([]float64, len(logs))
	for i, v := range logs {
		w[i] = 1
		if !known {
			w[i] = math.Exp(v - most)
		}
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	c.Draws = effective(w)
	for i, at := range from {
		end := len(c.parts)
		if i+1 < len(from) {
			end = from[i+1]
		}
		for j := at; j < end; j++ {
			c.parts[j].w *= w[i]
		}
	}
}

// combine returns the distribution of a0 B + a1 w + c level for each part: a
// function of the part that gives the combination, and the variance added.
func (c *Course) combine(level float64, of func(p *part) (a0, a1, add, extra float64)) Between {
	means, sds := make([]float64, len(c.parts)), make([]float64, len(c.parts))
	for i := range c.parts {
		p := &c.parts[i]
		a0, a1, add, extra := of(p)
		means[i] = a0*p.b0 + a1*p.b1 + add
		sds[i] = math.Sqrt(max(a0*a0*p.k[0]+2*a0*a1*p.k[1]+a1*a1*p.k[2]+extra, 0))
	}
	at := func(q float64) float64 { return c.quantile(means, sds, q) }
	return Between{at(0.5), wearfit.Interval{Lo: at((1 - level) / 2), Hi: at((1 + level) / 2)}}
}

// quantile inverts the distribution of the mixture by Newton's method, kept
// between ends that close in.
func (c *Course) quantile(means, sds []float64, q float64) float64 {
	z := distuv.UnitNormal.Quantile(q)
	lo, hi := math.Inf(1), math.Inf(-1)
	var x, spread float64
	for i, m := range means {
		// The mixture's quantile lies between those of its parts.
		lo, hi = min(lo, m+z*sds[i]), max(hi, m+z*sds[i])
		x += c.parts[i].w * m
	}
	for i, m := range means {
		spread += c.parts[i].w * ((m-x)*(m-x) + sds[i]*sds[i])
	}
	x += z * math.Sqrt(spread)
	for range 60 {
		if !(x > lo && x < hi) {
			x = (lo + hi) / 2
		}
		f, slope := c.below(means, sds, x)
		if f -= q; f < 0 {
			lo = x
		} else {
			hi = x
		}
		if math.Abs(f) < 1e-7 || hi-lo <= 1e-9*(math.Abs(lo)+math.Abs(hi)) {
			break
		}
		x -= f / slope
	}
	return x
}

// below returns how much of the mixture lies below x, and its density.
func (c *Course) below(means, sds []float64, x float64) (share, density float64) {
	for i, m := range means {
		w, s := c.parts[i].w, sds[i]
		switch {
		case s > 0:
			z := (x - m) / s
			share += w * math.Erfc(-z/math.Sqrt2) / 2
			density += w * math.Exp(-z*z/2) / s
		case m <= x:
			share += w
		}
	}
	return share, density / math.Sqrt(2*math.Pi)
}

// Creep returns the hip's bedding-in, mm.
func (c *Course) Creep(level float64) Between {
	return c.combine(level, func(*part) (float64, float64, float64, float64) { return c.mm, 0, 0, 0 })
}

// Rate returns the hip's steady rate, mm/year.
func (c *Course) Rate(level float64) Between {
	return c.combine(level, func(*part) (float64, float64, float64, float64) { return 0, c.mm / c.per, 0, 0 })
}

// Since returns the true penetration at t years since a time before it.
func (c *Course) Since(from, t, level float64) Between {
	return c.combine(level, func(p *part) (float64, float64, float64, float64) {
		return c.mm * (math.Exp(-from/c.per*p.inv) - math.Exp(-t/c.per*p.inv)), c.mm / c.per * (t - from), 0, 0
	})
}

// At returns the curve at t years, on the scale of the hip's values.
func (c *Course) At(t, level float64) Between { return c.film(t, 0, level, false) }

// Next returns one further film's value at t years, read with the standard error
// se besides what films scatter.
func (c *Course) Next(t, se, level float64) Between { return c.film(t, se, level, true) }

func (c *Course) film(t, se, level float64, scatter bool) Between {
	return c.combine(level, func(p *part) (float64, float64, float64, float64) {
		v := p.level * c.mm * c.mm
		if scatter {
			v += se*se + p.s2*c.mm*c.mm
		}
		return c.mm * (-math.Expm1(-t/c.per*p.inv) - p.bend), c.mm * (t/c.per - p.t), p.y * c.mm, v
	})
}

// Penetration returns the true penetration at t years since the hip's first film.
func (c *Course) Penetration(t, level float64) Between { return c.Since(c.baseline, t, level) }

// Tau returns the hip's time constant, years: the median and ends among those
// that were tried.
func (c *Course) Tau(level float64) Between {
	means, sds := make([]float64, len(c.parts)), make([]float64, len(c.parts))
	for i, p := range c.parts {
		means[i] = -math.Log(p.inv)
	}
	at := func(q float64) float64 { return c.per * math.Exp(c.quantile(means, sds, q)) }
	return Between{at(0.5), wearfit.Interval{Lo: at((1 - level) / 2), Hi: at((1 + level) / 2)}}
}

// Hip returns the course of a hip of the cohort.
func (b *Belief) Hip(name string) (Course, bool) {
	i, ok := b.model.index[name]
	if !ok {
		return Course{}, false
	}
	return b.course(&b.model.hips[i], true), true
}

// Films are those of a hip that the cohort has not seen. SE are its readings'
// standard errors, needed where the cohort's were known and only there. Creep and Rate are its values
// of the cohort's columns; nil where there is one mean for all hips. Tau is those of the
// columns for the time constant, nil where there are none.
type Films struct {
	Hip             string
	Time, Value, SE []float64
	Creep, Rate     []float64
	Tau             []float64
}

// Course returns the course of a hip by its own films and the cohort: what the
// cohort leaves open is weighed by how likely it makes the films.
func (b *Belief) Course(f Films) (Course, error) {
	m := b.model
	d := Data{Hip: make([]string, len(f.Value)), Time: f.Time, Value: f.Value, SE: f.SE}
	if err := d.check(); err != nil {
		return Course{}, err
	}
	if len(f.Time) == 0 {
		return Course{}, &wearfit.TooFewError{N: 0, Need: 1}
	}
	for _, t := range f.Time {
		if t < 0 {
			return Course{}, wearfit.ErrBeforeSurgery
		}
	}
	if (f.SE == nil) != (m.hips[0].known == nil) {
		return Course{}, ErrReadings
	}
	rows := make([]int, len(f.Time))
	for i := range rows {
		rows[i] = i
	}
	h := m.take(d, rows)
	h.name = f.Hip
	var err error
	if h.creep, err = m.creep.of(f.Creep); err != nil {
		return Course{}, err
	}
	if h.rate, err = m.rate.of(f.Rate); err != nil {
		return Course{}, err
	}
	tau, err := m.tau.of(append([]float64{1}, f.Tau...))
	if err != nil {
		return Course{}, err
	}
	h.tau = tau[1:]
	return b.course(&h, false), nil
}
