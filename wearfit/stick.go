package wearfit

import (
	"errors"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"
)

// Stick is a continuous broken line: y = Intercept + Early t before Break,
// with slope Rate after it.
type Stick struct {
	N                      int
	Intercept, Early, Rate float64
	Break                  float64
	Fixed                  bool // the break was given
	RSS, Sigma             float64
	DF                     int
	Residuals, Leverage    []float64

	// Cov is the covariance of (Intercept, Early, Rate), and of Break as well
	// where it was fitted; by linearisation, nil where the two slopes are
	// equal or no degrees of freedom are left.
	Cov *mat.SymDense
	// Minima are all local minima over the break, the lowest first; none for
	// a fixed break.
	Minima []Minimum

	model partial
	spans []span
	slope Linear // the fit with the break at Break
	first float64
	last  float64

	prepared func() bend // once, when it is first asked for
}

// span is the profile between two neighbouring times: two free lines that
// must meet at the break.
type span struct {
	lo, hi      float64
	left, right Line
	rss         float64 // of the two lines apart
}

// gap returns the distance of the two lines at a break, its slope, the
// variance of the distance over sigma², and the slope of that.
func (s span) gap(at float64) (d, dd, v, dv float64) {
	l, r := s.left, s.right
	d = r.Intercept + r.Slope*at - l.Intercept - l.Slope*at
	dd = r.Slope - l.Slope
	v = l.share(at) + r.share(at)
	dv = 2*(at-l.center)/l.spread + 2*(at-r.center)/r.spread
	return d, dd, v, dv
}

// at returns the profile and its derivative. The lines cost d²/v to join
// (Hudson DJ. J Am Stat Assoc 1966;61:1097-1129).
func (s span) at(at float64) (rss, slope float64) {
	d, dd, v, dv := s.gap(at)
	return s.rss + d*d/v, d * (2*dd*v - d*dv) / (v * v)
}

// FitStick fits a broken line whose break is unknown, between the second and
// the second-last time. It needs five observations at four times. The profile
// over the break is known in closed form between neighbouring times, so that
// every local minimum is found, not only the one nearest to a start.
func FitStick(t, y, w []float64) (Stick, error) {
	spans, err := stickSpans(t, y, w)
	if err != nil {
		return Stick{}, err
	}
	minima := minimaOf(spans)
	s, err := fitStick(t, y, w, minima[0].At)
	if err != nil {
		return Stick{}, err
	}
	s.Fixed, s.Minima, s.spans = false, minima, spans
	s.DF = len(t) - 4
	s.Sigma = math.Sqrt(s.RSS / float64(s.DF))
	s.model.df, s.model.best = s.DF, s.RSS
	s.Cov = s.linearised(t, y, w)
	s.prepared = sync.OnceValue(s.prepare)
	return s, nil
}

// StickRSS returns the weighted sum of squares of FitStick alone.
func StickRSS(t, y, w []float64) (float64, error) {
	spans, err := stickSpans(t, y, w)
	if err != nil {
		return 0, err
	}
	return minimaOf(spans)[0].RSS, nil
}

func stickSpans(t, y, w []float64) ([]span, error) {
	if err := check(t, y, w, 5); err != nil {
		return nil, err
	}
	x := distinct(t)
	if len(x) < 4 {
		return nil, &TooFewTimesError{len(x), 4}
	}
	return spansOf(x, t, y, w)
}

// FitStickAt fits a broken line whose break is known. It needs times before
// and after it, and three observations.
func FitStickAt(t, y, w []float64, at float64) (Stick, error) {
	if err := check(t, y, w, 3); err != nil {
		return Stick{}, err
	}
	return fitStick(t, y, w, at)
}

func fitStick(t, y, w []float64, at float64) (Stick, error) {
	s := Stick{N: len(t), Break: at, Fixed: true, first: slices.Min(t), last: slices.Max(t)}
	s.model = partial{cols: [][]float64{unit(len(t)), t, nil}, bent: 2, y: y, w: w, set: func(col []float64, at float64) {
		for i, v := range t {
			col[i] = max(v-at, 0)
		}
	}}
	l, err := FitLinear(s.model.design(at), y, w)
	if errors.Is(err, ErrRank) {
		return Stick{}, ErrBreak
	}
	if err != nil {
		return Stick{}, err
	}
	s.slope = l
	s.RSS, s.Sigma, s.DF, s.Residuals, s.Leverage = l.RSS, l.Sigma, l.DF, l.Residuals, l.Leverage
	b, cov := l.Coef, l.Cov
	s.Intercept, s.Early, s.Rate = b[0], b[1], b[1]+b[2]
	if l.DF > 0 {
		s.Cov = ratesOf(cov)
	}
	s.model.best, s.model.df = l.RSS, l.DF
	s.prepared = sync.OnceValue(s.prepare)
	return s, nil
}

// ratesOf turns the covariance of (intercept, slope, change, ...) into that
// of (intercept, slope, slope + change, ...).
func ratesOf(v *mat.SymDense) *mat.SymDense {
	n := v.SymmetricDim()
	a := mat.NewDense(n, n, nil)
	for i := range n {
		a.Set(i, i, 1)
	}
	a.Set(2, 1, 1)
	var av, out mat.Dense
	av.Mul(a, v)
	out.Mul(&av, a.T())
	sym := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			sym.SetSym(i, j, out.At(i, j))
		}
	}
	return sym
}

// linearised is the covariance of all four parameters.
func (s *Stick) linearised(t, y, w []float64) *mat.SymDense {
	step := make([]float64, len(t))
	for i, v := range t {
		if v > s.Break {
			step[i] = s.Early - s.Rate
		}
	}
	l, err := FitLinear(append(s.model.design(s.Break), step), y, w)
	if err != nil || l.Sigma == 0 {
		return nil
	}
	return ratesOf(scaledCov(l.Cov, s.Sigma/l.Sigma))
}

func spansOf(x, t, y, w []float64) ([]span, error) {
	spans := make([]span, 0, len(x)-3)
	for k := 1; k+2 < len(x); k++ {
		s := span{lo: x[k], hi: x[k+1]}
		var err error
		if s.left, err = lineOver(t, y, w, x[0], x[k]); err != nil {
			return nil, err
		}
		if s.right, err = lineOver(t, y, w, x[k+1], x[len(x)-1]); err != nil {
			return nil, err
		}
		s.rss = s.left.rss(w, t, x[0], x[k]) + s.right.rss(w, t, x[k+1], x[len(x)-1])
		spans = append(spans, s)
	}
	return spans, nil
}

// lineOver fits the line through the observations from lo to hi.
func lineOver(t, y, w []float64, lo, hi float64) (Line, error) {
	pt, py, pw := pick(t, y, w, func(i int) bool { return lo <= t[i] && t[i] <= hi })
	return FitLine(pt, py, pw)
}

func (l Line) rss(w, t []float64, lo, hi float64) float64 {
	var sum float64
	k := 0
	for i := range t {
		if lo <= t[i] && t[i] <= hi {
			sum += weight(w, i) * l.Residuals[k] * l.Residuals[k]
			k++
		}
	}
	return sum
}

// pick returns the observations that keep says so of.
func pick(t, y, w []float64, keep func(i int) bool) (pt, py, pw []float64) {
	for i := range t {
		if !keep(i) {
			continue
		}
		pt, py = append(pt, t[i]), append(py, y[i])
		if w != nil {
			pw = append(pw, w[i])
		}
	}
	return pt, py, pw
}

// minimaOf lists the local minima, the lowest first: the crossing of the two
// lines within each span, and the times at which the profile turns.
func minimaOf(spans []span) []Minimum {
	var out []Minimum
	for i, s := range spans {
		rss, right := s.at(s.lo)
		left := -1.0
		if i > 0 {
			_, left = spans[i-1].at(s.lo)
		}
		if left <= 0 && right >= 0 {
			out = append(out, Minimum{s.lo, rss})
		}
		d, dd, _, _ := s.gap(s.lo)
		if cross := s.lo - d/dd; s.lo < cross && cross < s.hi {
			out = append(out, Minimum{cross, s.rss})
		}
	}
	last := spans[len(spans)-1]
	if rss, left := last.at(last.hi); left <= 0 || len(out) == 0 {
		out = append(out, Minimum{last.hi, rss})
	}
	return byRSS(out)
}

// BreakInterval returns the profile-likelihood interval of the break: the hull
// of all breaks whose residual sum of squares stays within
// RSS (1 + F/DF). An end that reaches the second or the second-last time is
// open: the data do not tell when bedding-in ended.
func (s Stick) BreakInterval(level float64) Interval {
	if s.Fixed {
		return Interval{s.Break, s.Break}
	}
	limit := s.model.limit(level)
	ci := Interval{s.Break, s.Break}
	for _, p := range s.spans {
		for _, at := range append(p.crossings(limit), p.lo, p.hi) {
			if rss, _ := p.at(at); rss <= limit*(1+1e-12) {
				ci.Lo, ci.Hi = min(ci.Lo, at), max(ci.Hi, at)
			}
		}
	}
	if first := s.spans[0].lo; ci.Lo <= first {
		ci.Lo = math.Inf(-1)
	}
	if last := s.spans[len(s.spans)-1].hi; ci.Hi >= last {
		ci.Hi = math.Inf(1)
	}
	return ci
}

// crossings returns where within the span the profile equals limit, at which
// d² = (limit - rss) v, a quadratic in the break.
func (s span) crossings(limit float64) []float64 {
	c := limit - s.rss
	if c < 0 {
		return nil
	}
	mid := (s.lo + s.hi) / 2
	d, dd, v, dv := s.gap(mid)
	vv := 1/s.left.spread + 1/s.right.spread
	a2, a1, a0 := dd*dd-c*vv, 2*d*dd-c*dv, d*d-c*v
	disc := a1*a1 - 4*a2*a0
	if a2 == 0 || disc < 0 {
		return nil
	}
	q := -(a1 + math.Copysign(math.Sqrt(disc), a1)) / 2
	var out []float64
	for _, z := range []float64{q / a2, a0 / q} {
		if at := mid + z; s.lo < at && at < s.hi {
			out = append(out, at)
		}
	}
	return out
}

// Identifiable says whether the data tell the break: its 95 % interval is
// closed. A fixed break is known.
func (s Stick) Identifiable() bool { return !s.BreakInterval(0.95).Open() }

// RateInterval returns the interval of the slope after the break: with
// Student's t for a fixed break, by profile likelihood over all breaks
// otherwise.
func (s Stick) RateInterval(level float64) Interval {
	return s.combined([]float64{0, 1, 1}, level)
}

// EarlyInterval returns the interval of the slope before the break.
func (s Stick) EarlyInterval(level float64) Interval {
	return s.combined([]float64{0, 1, 0}, level)
}

func (s Stick) combined(c []float64, level float64) Interval {
	if s.Fixed {
		return s.slope.Combine(c).Interval(level)
	}
	return s.bend().ends(always(c), 0, level)
}

// grid returns the breaks from which a profile is searched.
func (s Stick) grid() []float64 {
	if s.Fixed {
		return []float64{s.Break}
	}
	const per = 12 // points in each span
	grid := []float64{s.Break}
	for _, p := range s.spans {
		for k := range per {
			grid = append(grid, p.lo+(p.hi-p.lo)*float64(k)/per)
		}
	}
	grid = append(grid, s.spans[len(s.spans)-1].hi)
	slices.Sort(grid)
	return slices.Compact(grid)
}

// Mean returns the line at t.
func (s Stick) Mean(t float64) float64 {
	return s.Intercept + s.Early*min(t, s.Break) + s.Rate*max(t-s.Break, 0)
}

// Since has RiseInterval and TimeTo count from time t, that of the baseline film. They
// count from the first film otherwise.
func (s Stick) Since(t float64) Stick {
	s.first = t
	return s
}

// Rise returns how far the line rises from the baseline film to t.
func (s Stick) Rise(t float64) float64 { return s.Mean(t) - s.Mean(s.first) }

// Band returns the interval of the line at t, prepared for many times: with Student's t
// for a fixed break, by profile likelihood over all breaks otherwise.
func (s Stick) Band(level float64) func(t float64) Interval {
	return func(t float64) Interval { return s.bend().band(t, 0, level) }
}

// RiseInterval is Band for Rise at one time: the baseline film counts with its error.
func (s Stick) RiseInterval(t, level float64) Interval { return s.bend().rise().band(t, 0, level) }

// PredictInterval returns the interval of one further film of weight w at t, by
// profile likelihood: w is 1 where the fit was not weighted, 1/se² where its
// weights were.
func (s Stick) PredictInterval(t, w, level float64) Interval { return s.bend().band(t, 1/w, level) }

// TimeTo returns when the line has risen by level since the baseline film.
func (s Stick) TimeTo(level, confidence float64) Crossing {
	return s.bend().rise().crossing(level, confidence, s.Rise)
}

// bend is prepared when it is first asked for.
func (s Stick) bend() bend {
	b := s.prepared()
	b.first = s.first
	return b
}

func (s Stick) prepare() bend {
	return bend{partial: s.model, grid: s.grid(), last: s.last, row: func(t, at float64) []float64 {
		return []float64{1, t, max(t-at, 0)}
	}}.prepare()
}
