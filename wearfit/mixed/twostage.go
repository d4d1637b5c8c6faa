package mixed

import (
	"errors"

	"linerwatch/wearfit"
)

// TwoStage compares the rates of two groups by each hip's own line.
type TwoStage struct {
	Rates [2][]float64
	Left  []string // hips without a line of their own, left out
	Welch wearfit.Welch
	Ranks wearfit.MannWhitney
}

// CompareRates fits a line to each hip of d and compares the slopes of the
// hips that first lists with those of the others. It is the simple check beside
// a mixed model, which weighs hips by what their films tell.
func CompareRates(d Data, first func(hip string) bool) (TwoStage, error) {
	if len(d.Hip) != len(d.Value) || len(d.Time) != len(d.Value) {
		return TwoStage{}, &wearfit.LengthError{Times: len(d.Time), Values: len(d.Value), Weights: len(d.Hip)}
	}
	if err := errors.Join(numbers("time", d.Time), numbers("value", d.Value)); err != nil {
		return TwoStage{}, err
	}
	rows := map[string][]int{}
	var names []string
	for i, h := range d.Hip {
		if rows[h] == nil {
			names = append(names, h)
		}
		rows[h] = append(rows[h], i)
	}
	var r TwoStage
	for _, h := range names {
		var t, y []float64
		for _, i := range rows[h] {
			t, y = append(t, d.Time[i]), append(y, d.Value[i])
		}
		l, err := wearfit.FitLine(t, y, nil)
		if err != nil {
			r.Left = append(r.Left, h)
			continue
		}
		g := 1
		if first(h) {
			g = 0
		}
		r.Rates[g] = append(r.Rates[g], l.Slope)
	}
	var err error
	if r.Welch, err = wearfit.CompareMeans(r.Rates[0], r.Rates[1]); err != nil {
		return TwoStage{}, err
	}
	r.Ranks, err = wearfit.CompareRanks(r.Rates[0], r.Rates[1])
	return r, err
}
