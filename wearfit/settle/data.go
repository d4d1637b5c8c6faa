package settle

import (
	"math"
	"slices"

	"linerwatch/wearfit"
)

// Data is a table of films, one row each. Values are offsets, or penetrations
// with the baseline film as a row of its own (value 0): every hip has a level of
// its own, so that the two give the same answer, and the baseline film's error is
// shared by whatever is read against it.
type Data struct {
	Hip         []string
	Time, Value []float64
	// SE are the standard errors of the readings as far as they are known, 0
	// where they are not; nil: none. What films scatter beyond them is estimated.
	SE []float64
	// Creep and Rate are columns of what a hip's bedding-in and its rate depend
	// on, the intercept's ones among them; each has one value in all rows of a
	// hip. nil: one mean for all hips.
	Creep, Rate [][]float64
	// Tau are columns of what the logarithm of a hip's time constant depends on, without
	// an intercept's; nil: on nothing.
	Tau [][]float64
}

// Options choose what varies between hips. The zero value lets bedding-in and
// rate be correlated.
type Options struct{ Uncorrelated bool }

// hip is the films of one hip, in units of the table.
type hip struct {
	name        string
	t, y        []float64
	known       []float64 // variances of the readings, nil where none are known
	creep, rate []float64 // rows of the designs
	tau         []float64
}

// table is all films in units in which neither value nor time has a size.
type table struct {
	hips        []hip
	films       int
	contrasts   int     // films beyond one a hip
	mm, years   float64 // the units
	creep, rate design
	tau         design  // a mean and the columns given; that of the mean is no parameter of it
	soonest     float64 // time since the operation above 0, years
	last        float64 // years
	index       map[string]int
}

// newTable checks the data and sorts the films by hip.
func newTable(d Data) (*table, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	tb := &table{films: len(d.Value)}
	rows := tb.sort(d.Hip)
	if len(rows) < 2 {
		return nil, ErrOneHip
	}
	tb.contrasts = tb.films - len(rows)
	if err := tb.times(d, rows); err != nil {
		return nil, err
	}
	if err := tb.unit(d, rows); err != nil {
		return nil, err
	}
	var err error
	if tb.creep, err = newDesign(d.Creep, d.Hip, rows); err != nil {
		return nil, err
	}
	if tb.rate, err = newDesign(d.Rate, d.Hip, rows); err != nil {
		return nil, err
	}
	if tb.tau, err = newDesign(withMean(d), d.Hip, rows); err != nil {
		return nil, err
	}
	if n, need := tb.contrasts, tb.creep.n+tb.rate.n+tb.tau.n-1+own+2; n < need {
		return nil, &wearfit.TooFewError{N: tb.films, Need: len(rows) + need}
	}
	for h, films := range rows {
		p := tb.take(d, films)
		p.name, p.creep, p.rate = d.Hip[films[0]], tb.creep.row(h), tb.rate.row(h)
		p.tau = tb.tau.row(h)[1:]
		tb.hips = append(tb.hips, p)
	}
	return tb, nil
}

// sort returns the rows of each hip, in order of appearance.
func (tb *table) sort(names []string) [][]int {
	tb.index = map[string]int{}
	var rows [][]int
	for i, name := range names {
		h, ok := tb.index[name]
		if !ok {
			h = len(rows)
			tb.index[name] = h
			rows = append(rows, nil)
		}
		rows[h] = append(rows[h], i)
	}
	return rows
}

// withMean are the columns of the time constant with that of a mean for all.
func withMean(d Data) [][]float64 {
	ones := make([]float64, len(d.Hip))
	for i := range ones {
		ones[i] = 1
	}
	return append([][]float64{ones}, d.Tau...)
}

// columns are those of all that a hip's course depends on.
func (d Data) columns() [][]float64 { return slices.Concat(d.Creep, d.Rate, d.Tau) }

// check refuses columns that are not of one length, and what is not a number.
func (d Data) check() error {
	n := len(d.Value)
	for _, c := range append([][]float64{d.Time, d.Value, d.SE}, d.columns()...) {
		if c != nil && len(c) != n {
			return &wearfit.LengthError{Times: len(d.Time), Values: n, Weights: len(c)}
		}
	}
	if len(d.Hip) != n || len(d.Time) != n {
		return &wearfit.LengthError{Times: len(d.Time), Values: n, Weights: len(d.Hip)}
	}
	columns := map[string][][]float64{"time": {d.Time}, "value": {d.Value}, "standard error": {d.SE}, "column": d.columns()}
	for _, what := range []string{"time", "value", "standard error", "column"} {
		for _, c := range columns[what] {
			for i, v := range c {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					return &wearfit.NonFiniteError{What: what, Index: i, Value: v}
				}
			}
		}
	}
	for i, v := range d.SE {
		if v < 0 {
			return &ReadingError{i, v}
		}
	}
	return nil
}

// times refuses films whose times cannot tell bedding-in from wear: a level, two
// sizes and a time constant need four.
func (tb *table) times(d Data, rows [][]int) error {
	all := slices.Clone(d.Time)
	slices.Sort(all)
	all = slices.Compact(all)
	if all[0] < 0 {
		return wearfit.ErrBeforeSurgery
	}
	if len(all) < 4 {
		return &wearfit.TooFewTimesError{N: len(all), Need: 4}
	}
	tb.last, tb.soonest = all[len(all)-1], all[0]
	if tb.soonest == 0 {
		tb.soonest = all[1]
	}
	for _, films := range rows {
		own := map[float64]bool{}
		for _, i := range films {
			own[d.Time[i]] = true
		}
		if len(own) > 2 {
			return nil
		}
	}
	return ErrTwoTimes
}

// unit sets the units: the scatter of films around their hip's mean, and the
// time of the last film.
func (tb *table) unit(d Data, rows [][]int) error {
	var rss, most float64
	for _, films := range rows {
		var mean float64
		for _, i := range films {
			mean += d.Value[i] / float64(len(films))
			most = max(most, math.Abs(d.Value[i]))
		}
		for _, i := range films {
			rss += (d.Value[i] - mean) * (d.Value[i] - mean)
		}
	}
	tb.mm, tb.years = math.Sqrt(rss/float64(tb.contrasts)), tb.last
	switch {
	case math.IsInf(tb.mm, 0) || math.IsNaN(tb.mm) || most > 1e100 || tb.last > 1e100 || tb.soonest < 1e-100:
		return wearfit.ErrRange
	case !(tb.mm > 1e-10*most):
		return wearfit.ErrNoScatter
	}
	return nil
}

// take returns the films of some rows, in units of the table.
func (tb *table) take(d Data, rows []int) hip {
	var p hip
	for _, i := range rows {
		p.t, p.y = append(p.t, d.Time[i]/tb.years), append(p.y, d.Value[i]/tb.mm)
		if d.SE != nil {
			p.known = append(p.known, d.SE[i]/tb.mm*d.SE[i]/tb.mm)
		}
	}
	return p
}
