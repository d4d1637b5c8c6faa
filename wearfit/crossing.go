package wearfit

import "math"

// Crossing is the time at which a curve reaches a level.
type Crossing struct {
	Level float64
	At    float64 // the first time from the baseline film on; +Inf where the curve does not reach it
	// Times are the times from the baseline film on at which the data allow the level, in
	// order: none, one, or more where the curve may pass it twice. A last one
	// that has no end means "or never".
	Times []Interval
	// Beyond says that At lies after the last film: extrapolated.
	Beyond bool
	State  Passage // says what an infinite At means
}

// Told says whether the data tell the time: it lies in one closed interval.
func (c Crossing) Told() bool { return len(c.Times) == 1 && !c.Times[0].Open() }

// bend is a model with one parameter that is not linear, as predictions need it.
type bend struct {
	partial
	held  []held                        // at the points of the grid
	grid  []float64                     // of the parameter
	row   func(t, at float64) []float64 // what the linear coefficients count at time t
	first float64                       // the baseline film, from which times are counted
	last  float64                       // the last film
	blind bool                          // the data say nothing of the time after it
}

// prepare makes the fits at the points of the grid.
func (b bend) prepare() bend {
	h := b.holder()
	for _, at := range b.grid {
		b.held = append(b.held, h.hold(at))
	}
	return b
}

// rise is the model of how far the curve rises from the baseline film on.
func (b bend) rise() bend {
	row, first := b.row, b.first
	b.row = func(t, at float64) []float64 {
		out := row(t, at)
		for j, v := range row(first, at) {
			out[j] -= v
		}
		return out
	}
	return b
}

// band is the interval of the curve at t, or of one film there whose variance is
// extra times sigma².
func (b bend) band(t, extra, level float64) Interval {
	if b.blind && t > b.last {
		return Unbounded()
	}
	return b.ends(func(at float64) []float64 { return b.row(t, at) }, extra, level)
}

// ends is the profile-likelihood interval of Σ c[j] b[j], with what is added to it,
// the parameter running over the grid and between its points. c may depend on the
// parameter.
func (b bend) ends(c func(at float64) []float64, extra, level float64) Interval {
	limit := b.limit(level)
	if math.IsInf(limit, 1) {
		return Unbounded()
	}
	var ends [2]float64
	h := b.holder()
	for k, sign := range []float64{-1, 1} {
		best, far := 0, math.Inf(-1)
		for i, at := range b.grid {
			if v := b.held[i].reach(c(at), extra, sign, limit); v > far {
				best, far = i, v
			}
		}
		if len(b.grid) > 1 {
			_, low := golden(func(at float64) float64 { return -h.look(at).reach(c(at), extra, sign, limit) },
				b.grid[max(best-1, 0)], b.grid[min(best+1, len(b.grid)-1)], 28)
			far = max(far, -low)
		}
		ends[k] = sign * far
	}
	return Interval{ends[0], ends[1]}
}

// The times at which a crossing is looked for: so many up to the last film, and
// from there on each so many times the one before, to far times the last film.
const (
	crossingSteps = 240
	crossingGrow  = 1.08
	crossingFar   = 1e4
)

func scanned(first, last float64) []float64 {
	var out []float64
	for i := range crossingSteps + 1 {
		out = append(out, first+(last-first)*float64(i)/crossingSteps)
	}
	for v := last * crossingGrow; v <= last*crossingFar; v *= crossingGrow {
		out = append(out, v)
	}
	return out
}

// region returns the parts of a scan of times that are allowed; a last one without an
// end is infinite.
func region(scan []float64, allowed func(t float64) bool) []Interval {
	var out []Interval
	open := math.NaN() // where the part begins that is not closed yet
	for i, t := range scan {
		in := allowed(t)
		switch {
		case in && math.IsNaN(open):
			open = t
			if i > 0 {
				open = border(allowed, scan[i-1], t)
			}
		case !in && !math.IsNaN(open):
			out = append(out, Interval{open, border(allowed, scan[i-1], t)})
			open = math.NaN()
		}
	}
	if !math.IsNaN(open) {
		out = append(out, Interval{open, math.Inf(1)})
	}
	return out
}

// crossing looks for the times at which the curve reaches level. Those allowed
// are the profile-likelihood region: there the least sum of squares of all
// curves that pass through (time, level) is within its limit.
func (b bend) crossing(level, confidence float64, mean func(t float64) float64) Crossing {
	c := Crossing{Level: level, At: math.Inf(1)}
	var scan []float64
	all := scanned(b.first, b.last)
	for i, t := range all {
		if i > 0 {
			above := func(t float64) bool { return mean(t) >= level }
			if from := all[i-1]; above(from) != above(t) {
				at := border(above, from, t)
				scan = append(scan, at)
				c.At = min(c.At, at)
			}
		}
		scan = append(scan, t)
	}
	c.State = passage(c.At, mean(all[0]), level)
	if c.State != Ahead {
		c.At = math.Inf(1)
	}
	c.Beyond = c.At > b.last && c.State == Ahead
	p := passing{bend: b, between: b.holder(), level: level, limit: b.limit(confidence)}
	if math.IsInf(p.limit, 1) {
		c.Times = []Interval{{0, math.Inf(1)}}
		return c
	}
	c.Times = region(scan, p.allowed)
	if n := len(c.Times); b.blind && n > 1 && c.Times[n-2].Contains(c.At) {
		c.Times = c.Times[:n-1] // reached among the films: what follows does not matter
	}
	return c
}

// border narrows down where between a and b is changes.
func border(is func(t float64) bool, a, b float64) float64 {
	first := is(a)
	for range 45 {
		m := (a + b) / 2
		if is(m) == first {
			a = m
		} else {
			b = m
		}
	}
	return (a + b) / 2
}

// passing is the family of curves that pass through a level.
type passing struct {
	bend
	between      *holder // of values of the parameter between those of the grid
	level, limit float64
}

// allowed says whether a curve that is at the level at t is within the limit.
func (p passing) allowed(t float64) bool {
	if p.blind && t > p.last {
		return true
	}
	best, low := 0, math.Inf(1)
	for i, h := range p.held {
		if v := p.through(h, p.grid[i], t); v < low {
			best, low = i, v
		}
	}
	// Between the points of the grid the sum is little lower.
	if low <= p.limit || low > p.limit+(p.limit-p.best)/2 {
		return low <= p.limit
	}
	_, low = golden(func(at float64) float64 { return p.through(p.between.look(at), at, t) },
		p.grid[max(best-1, 0)], p.grid[min(best+1, len(p.grid)-1)], 28)
	return low <= p.limit
}

// through is the least sum of squares of the curves with their parameter held
// that are at the level at t.
func (p passing) through(h held, at, t float64) float64 {
	if math.IsInf(h.rss, 1) {
		return h.rss
	}
	row := p.row(t, at)
	d, v := p.level-combine(h.coef, row), h.variance(row)
	switch {
	case d == 0:
		return h.rss
	case !(v > 0):
		return math.Inf(1)
	}
	return h.rss + d*d/v
}
