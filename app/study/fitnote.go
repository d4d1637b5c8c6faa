package study

import (
	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// fitErrors are the errors of package wearfit by the codes of their notes.
var fitErrors = map[error]string{
	wearfit.ErrBeforeSurgery: "fit.before-surgery",
	wearfit.ErrBreak:         "fit.break",
	wearfit.ErrCovariance:    "fit.covariance",
	wearfit.ErrDesign:        "fit.design",
	wearfit.ErrEqualTimes:    "fit.equal-times",
	wearfit.ErrEvents:        "fit.events",
	wearfit.ErrExact:         "fit.exact",
	wearfit.ErrFilmsPerHip:   "fit.films-per-hip",
	wearfit.ErrNoMinimum:     "fit.no-minimum",
	wearfit.ErrNoScatter:     "fit.no-scatter",
	wearfit.ErrNotNested:     "fit.not-nested",
	wearfit.ErrOneHip:        "fit.one-hip",
	wearfit.ErrRange:         "fit.range",
	wearfit.ErrRank:          "fit.rank",
	wearfit.ErrUnbalanced:    "fit.unbalanced",
	wearfit.ErrUnsettled:     "fit.unsettled",
}

// fitNote returns what is said of an error of package wearfit.
func fitNote(err error) (n Note, ok bool) {
	switch e := err.(type) {
	case *wearfit.TooFewError:
		return Note{Code: "fit.few-films", Values: texts.Values{"N": float64(e.N), "Need": float64(e.Need)}}, true
	case *wearfit.TooFewTimesError:
		return Note{Code: "fit.few-times", Values: texts.Values{"N": float64(e.N), "Need": float64(e.Need)}}, true
	case *wearfit.NonFiniteError:
		return Note{Code: "fit.not-finite", Values: texts.Values{"What": e.What, "N": float64(e.Index + 1), "Value": e.Value}}, true
	case *wearfit.WeightError:
		return Note{Code: "fit.weight", Values: texts.Values{"N": float64(e.Index + 1), "Value": e.Value}}, true
	case *wearfit.LengthError:
		return Note{Code: "fit.lengths", Values: texts.Values{"Times": float64(e.Times), "Values": float64(e.Values), "Weights": float64(e.Weights)}}, true
	case *wearfit.NestError:
		return Note{Code: "fit.two-patients", Values: texts.Values{"Hip": e.Hip, "First": e.First, "Second": e.Second}}, true
	}
	for known, code := range fitErrors {
		if err == known {
			return Note{Code: code}, true
		}
	}
	return Note{}, false
}
