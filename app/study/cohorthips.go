package study

import (
	lmm "linerwatch/wearfit/mixed"
)

const shrunkenModel = "shrunken, from the mixed model"

// shrunken are each hip's own intercept and rate, drawn towards its group's: with few
// hips integrated over the variances, by which the intervals hold the hips' true rates
// as often as they say; see lmm.Model.Integrate.
func (a analysis) shrunken() []Quantity {
	var list []lmm.Drawn
	if a.small {
		// Where it cannot be, the variances are taken as known, and said to be.
		list, _ = a.model.Integrate(func(hip string) (intercept, rate []float64) { return a.lineOf(a.hips[hip]) }, level, 1)
	}
	if list == nil {
		return a.plugged()
	}
	var out []Quantity
	for _, d := range list {
		out = append(out, a.ownLine(d.Hip, drawn(d.Rate), drawn(d.Intercept), ByIntegration)...)
	}
	return out
}

// plugged are the same with the variances taken as known.
func (a analysis) plugged() []Quantity {
	var out []Quantity
	for _, e := range a.model.Effects() {
		intercept, rate := a.lineOf(a.hips[e.Hip])
		s := a.model.Shrink(e, intercept, rate)
		out = append(out, a.ownLine(e.Hip, estimated("", "", "", "", s.Rate), estimated("", "", "", "", s.Intercept), ByKnownVariances)...)
	}
	return out
}

func drawn(p lmm.Posterior) Quantity {
	return Quantity{Value: p.Mean, SE: p.SD}.within(p.Interval)
}

// ownLine names a hip's rate and intercept.
func (a analysis) ownLine(hip string, rate, intercept Quantity, how Convention) []Quantity {
	intercept.Note = a.baseNote()
	out := []Quantity{rate, intercept}
	for i := range out {
		q := &out[i]
		q.Of, q.Model, q.Name, q.Unit, q.HasP = hip, shrunkenModel, [2]string{"rate", "intercept"}[i], [2]string{unitRate, unitMM}[i], false
		*q = q.made(how)
	}
	return out
}
