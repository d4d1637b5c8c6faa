package wearfit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat"
)

// ErrApart says that no target was read by two readers, so that what a target
// adds to a reading cannot be told from what its reader adds.
var ErrApart = errors.New("wearfit: no target was read by two readers")

// Components are the variances of readings of targets by readers, by restricted
// maximum likelihood, as lme4's lmer(y ~ 1 + (1|target) + (1|reader) +
// (1|target:reader)): all readings count, and not every reader need read every
// target, nor as often. None is negative; one that is 0 is at its limit.
type Components struct {
	Targets, Readers, Readings int
	Mean                       float64
	// Variances of targets, of readers, of target by reader, and of a reading
	// repeated by the same reader. Where no repeats tell the last two apart,
	// Separable is false, Interaction is 0 and Repeat is their sum.
	Target, Reader, Interaction, Repeat float64
	Separable                           bool
	// Alike says that all repeats equal the first reading: as if copied, they
	// tell nothing and are not counted.
	Alike  bool
	LogLik float64 // restricted

	layout layout
}

// Crossed splits the variance of readings x[target][reader], each any number of
// them. The errors are TooFewError, NonFiniteError, ErrApart, and ErrNoScatter
// where readings do not differ but between targets.
func Crossed(x [][][]float64) (Components, error) {
	r, err := cellsOf(x)
	if err != nil {
		return Components{}, err
	}
	c := Components{Targets: len(r.perTarget), Readers: len(r.perReader), Readings: r.n}
	if c.Targets < 2 || c.Readers < 2 {
		return c, &TooFewError{min(c.Targets, c.Readers), 2}
	}
	if c.Alike = r.within == 0 && r.once(); c.Alike {
		c.Readings = r.n
	}
	r.gatherPatterns()
	if c.layout, err = r.layout(); err != nil {
		return Components{}, err
	}
	c.Separable = c.layout.repeat.df > 0 && c.layout.inter.df > 0
	// Targets and readers all but free: what they leave is nothing where it is
	// 3e-5 of the SD of all readings.
	if r.deviance([3]float64{1e5, 1e5, 0}).sigma2 < 1e-9 {
		return Components{}, ErrNoScatter
	}
	th, ok := r.descend(c.Separable)
	if !ok {
		return Components{}, ErrUnsettled
	}
	p := r.deviance(th)
	unit := p.sigma2 * r.scale * r.scale
	c.Repeat, c.Target, c.Reader, c.Interaction = unit, unit*th[0]*th[0], unit*th[1]*th[1], unit*th[2]*th[2]
	c.Mean = r.centre + r.scale*p.mean
	c.LogLik = -p.dev/2 - float64(r.n-1)*math.Log(r.scale)
	if !finite(c.Repeat + c.Target + c.Reader + c.Interaction) {
		return Components{}, ErrRange
	}
	return c, nil
}

// cells are the readings by cell of target and reader. Values are about their
// mean, over their SD.
type cells struct {
	at                   [][]cell // by target, or by reader where there are more of those
	swapped              bool     // by reader
	patterns             []pattern
	perTarget, perReader []float64
	n                    int
	within               float64 // sum of squares within cells
	centre, scale        float64
}

// cell holds the readings of one target by one reader; with is its index in the
// other factor than the one that cells are grouped by.
type cell struct {
	with    int
	n, mean float64
}

// cellsOf gathers what is there; targets and readers without a reading are none.
func cellsOf(x [][][]float64) (*cells, error) {
	r := &cells{}
	var all []float64
	number := map[int]int{} // of the readers
	for i, row := range x {
		n := len(all)
		for j, v := range row {
			for _, y := range v {
				if !finite(y) {
					return nil, &NonFiniteError{"value", i, y}
				}
			}
			if _, ok := number[j]; !ok && len(v) > 0 {
				number[j] = len(r.perReader)
				r.perReader = append(r.perReader, 0)
			}
			if len(v) > 0 {
				r.perReader[number[j]] += float64(len(v))
			}
			all = append(all, v...)
		}
		if len(all) > n {
			r.perTarget = append(r.perTarget, float64(len(all)-n))
		}
	}
	r.n = len(all)
	if r.n < 2 {
		return nil, &TooFewError{r.n, 2}
	}
	r.centre, r.scale = stat.MeanStdDev(all, nil)
	if !finite(r.scale) {
		return nil, ErrRange
	}
	if r.scale == 0 {
		return nil, ErrNoScatter
	}
	r.swapped = len(r.perReader) > len(r.perTarget)
	r.at = make([][]cell, max(len(r.perReader), len(r.perTarget)))
	t := 0
	for _, row := range x {
		some := false
		for j, v := range row {
			if len(v) == 0 {
				continue
			}
			some = true
			r.add(t, number[j], v)
		}
		if some {
			t++
		}
	}
	return r, nil
}

func (r *cells) add(target, reader int, v []float64) {
	c := cell{with: reader, n: float64(len(v)), mean: (stat.Mean(v, nil) - r.centre) / r.scale}
	for _, y := range v {
		d := (y-r.centre)/r.scale - c.mean
		r.within += d * d
	}
	if r.swapped {
		target, c.with = reader, target
	}
	r.at[target] = append(r.at[target], c)
}

// once takes one reading of each cell and says whether there were more.
func (r *cells) once() bool {
	was := r.n
	r.n = 0
	clear(r.perTarget)
	clear(r.perReader)
	for i, row := range r.at {
		for k := range row {
			t, j := i, row[k].with
			if r.swapped {
				t, j = j, t
			}
			row[k].n = 1
			r.perTarget[t]++
			r.perReader[j]++
			r.n++
		}
	}
	return r.n < was
}

// few is how many levels the factor has that cells are not grouped by.
func (r *cells) few() int { return min(len(r.perReader), len(r.perTarget)) }

// RepeatabilitySD is the standard deviation of readings of one target by one
// reader (ISO 5725-2:2019); where the components are not Separable it holds that
// of target by reader.
func (c Components) RepeatabilitySD() Spread { return c.sum(0, 0, 1) }

// ReproducibilitySD is the standard deviation of readings of one target by any
// reader (ISO 5725-2:2019): the standard error of measurement for agreement,
// which holds the differences between readers.
func (c Components) ReproducibilitySD() Spread { return c.sum(1, 1, 1) }

// ConsistencySD is that of readings by any reader once the mean differences
// between readers are taken off: the standard error of measurement for
// consistency.
func (c Components) ConsistencySD() Spread { return c.sum(0, 1, 1) }

// BetweenSD is what readers add to the scatter of one reader's readings.
func (c Components) BetweenSD() Spread { return c.sum(1, 1, 0) }

// sum is the spread of a sum of the variances of readers, of target by reader
// and of repeats, each taken so many times.
func (c Components) sum(reader, inter, repeat float64) Spread {
	w, m := c.weights(reader, inter, repeat), c.squares()
	for i := range m {
		m[i].variance *= w[i]
	}
	return spreadOf(m[:]...)
}

// weights are those of squares in such a sum.
func (c Components) weights(reader, inter, repeat float64) [3]float64 {
	l := c.layout
	a := reader / l.reader.reader
	if !c.Separable {
		return [3]float64{a, 0, repeat - a}
	}
	b := (inter - a*l.reader.inter) / l.inter.inter
	return [3]float64{a, b, repeat - a - b}
}

// squares are the mean squares that the components expect of readers, of target
// by reader, and of repeats or what is left.
func (c Components) squares() [3]varied {
	l := c.layout
	left := varied{c.Repeat, l.repeat.df}
	if !c.Separable {
		left.df += l.inter.df
	}
	return [3]varied{{c.square(l.reader), l.reader.df}, {c.square(l.inter), l.inter.df}, left}
}

// square is the mean square that the components expect of a stratum.
func (c Components) square(l stratum) float64 {
	return c.Repeat + l.inter*c.Interaction + l.reader*c.Reader + l.target*c.Target
}
