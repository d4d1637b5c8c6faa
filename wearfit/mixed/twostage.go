package mixed

import (
	"errors"

	"linerwatch/wearfit"
)

// Rates are the slopes of hips' own lines, by group.
type Rates struct {
	Slopes [][]float64
	Left   []string // hips without a line of their own, left out
}

// EachRate fits a line to the films of each hip of d by itself; group says which of
// the groups, from 0 on, a hip belongs to. Where all films of a hip have a standard
// error they weigh 1/SE². It is the simple check beside a mixed model, which weighs hips
// by what their films tell. The mean of such slopes is biased where the films decide
// how long a hip is followed, as where it is revised once penetration is high: a hip
// whose readings happen to be high stops early, at a slope that is too steep and counts
// like any other. The likelihood of a mixed model is not, as long as the films
// themselves tell why there are no more (Little RJA. J Am Stat Assoc
// 1995;90:1112-1121).
func EachRate(d Data, groups int, group func(hip string) int) (Rates, error) {
	if len(d.Hip) != len(d.Value) || len(d.Time) != len(d.Value) {
		return Rates{}, &wearfit.LengthError{Times: len(d.Time), Values: len(d.Value), Weights: len(d.Hip)}
	}
	if err := errors.Join(numbers("time", d.Time), numbers("value", d.Value), d.checkErrors()); err != nil {
		return Rates{}, err
	}
	rows := map[string][]int{}
	var names []string
	for i, h := range d.Hip {
		if rows[h] == nil {
			names = append(names, h)
		}
		rows[h] = append(rows[h], i)
	}
	r := Rates{Slopes: make([][]float64, groups)}
	for _, h := range names {
		l, err := d.line(rows[h])
		if err != nil {
			r.Left = append(r.Left, h)
			continue
		}
		r.Slopes[group(h)] = append(r.Slopes[group(h)], l.Slope)
	}
	return r, nil
}

// line is that through some rows.
func (d Data) line(rows []int) (wearfit.Line, error) {
	t, y, w := make([]float64, len(rows)), make([]float64, len(rows)), make([]float64, len(rows))
	known := d.SE != nil
	for k, i := range rows {
		t[k], y[k] = d.Time[i], d.Value[i]
		if known {
			w[k] = 1 / (d.SE[i] * d.SE[i])
			known = d.SE[i] > 0
		}
	}
	if !known {
		w = nil
	}
	return wearfit.FitLine(t, y, w)
}
