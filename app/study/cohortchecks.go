package study

import (
	"fmt"

	lmm "linerwatch/wearfit/mixed"
)

const (
	robustModel  = "mixed model, robust"
	filmResidual = "residuals of films"
	hipResidual  = "hips' effects, standardised"
)

// robustDF are the degrees of freedom of the robust model's t distribution.
const robustDF = 4

// leastWeight is the weight in the robust model below which a hip is named. It is
// (4 + n)/(4 + D) for n films at a squared distance D, a chi-square of n where all hips are
// normal: one of six films then falls below in 1.4 of 100, as its D exceeds 16.
const leastWeight = 0.5

// agreement tells whether films scatter about their hips' lines as their readings'
// errors say.
func (a analysis) agreement() []Quantity {
	if a.data.SE == nil {
		return nil
	}
	const name = "scatter of films over the stated errors"
	r, err := lmm.CompareErrors(a.data, a.how, level)
	if err != nil {
		return []Quantity{missing("", a.name, name, "", err)}
	}
	q := Quantity{Model: a.name, Name: name, Value: r.Ratio, DF: r.DF, P: r.P, HasP: true, Note: Note{Code: "cohort.agree"}}.made(ByRatio)
	q.Interval, q.HasInterval = r.Interval, true
	return []Quantity{q}
}

// robust are the fixed effects of the model that hips that stand apart pull less, and
// those hips.
func (a analysis) robust() []Quantity {
	r, err := lmm.FitRobust(a.data, a.how, robustDF)
	if err != nil {
		return []Quantity{missing("", robustModel, "rate", unitRate, err)}
	}
	var out []Quantity
	for j, col := range a.columns {
		c := make([]float64, len(a.columns))
		c[j] = 1
		out = append(out, estimated("", robustModel, col.name, col.unit, r.Combine(c)).made(ByStudentT))
	}
	out = append(out, Quantity{Model: robustModel, Name: "SD of intercepts between hips" + a.withoutBase(), Unit: unitMM, Value: r.SDIntercept},
		Quantity{Model: robustModel, Name: "SD of rates between hips", Unit: unitRate, Value: r.SDSlope},
		Quantity{Model: robustModel, Name: "residual SD", Unit: unitMM, Value: r.Sigma})
	for i, w := range r.Weights {
		if w < leastWeight {
			out = append(out, Quantity{Of: r.HipNames[i], Model: robustModel, Name: "weight", Value: w, Note: Note{Code: "cohort.apart"}})
		}
	}
	return out
}

// diagnostics are values for plots: of every film what the hip's line says and how far
// off it is, of every hip its effects against what the normal distribution expects.
func (a analysis) diagnostics() []Quantity {
	films, hips := a.model.Diagnose()
	var out []Quantity
	for i, f := range films {
		at := fmt.Sprintf("at %s years", digits(a.data.Time[i]))
		of := a.data.Hip[i]
		out = append(out, Quantity{Of: of, Model: filmResidual, Name: "line " + at, Unit: unitMM, Value: f.Fitted},
			Quantity{Of: of, Model: filmResidual, Name: "residual " + at, Unit: unitMM, Value: f.Residual},
			Quantity{Of: of, Model: filmResidual, Name: "residual over its SD " + at, Value: f.Standard})
	}
	for _, h := range hips {
		out = append(out, Quantity{Of: h.Hip, Model: hipResidual, Name: "intercept", Value: h.Intercept},
			Quantity{Of: h.Hip, Model: hipResidual, Name: "intercept, normal quantile of its rank", Value: h.InterceptQuantile},
			Quantity{Of: h.Hip, Model: hipResidual, Name: "rate", Value: h.Rate},
			Quantity{Of: h.Hip, Model: hipResidual, Name: "rate, normal quantile of its rank", Value: h.RateQuantile})
	}
	return out
}
