package study

import (
	"fmt"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed" // the name mixed is taken here
	"linerwatch/wearfit/settle"
	"linerwatch/wearfit/survive"
)

// fitErrors are the errors of package wearfit, and of mixed, settle and survive below it, by the codes of their notes.
var fitErrors = map[error]string{
	wearfit.ErrApart:         "fit.apart",
	wearfit.ErrBeforeSurgery: "fit.before-surgery",
	wearfit.ErrBreak:         "fit.break",
	wearfit.ErrCovariance:    "fit.covariance",
	wearfit.ErrDesign:        "fit.design",
	wearfit.ErrEqualTimes:    "fit.equal-times",
	wearfit.ErrExact:         "fit.exact",
	lmm.ErrFilmsPerHip:       "fit.films-per-hip",
	wearfit.ErrNoMinimum:     "fit.no-minimum",
	wearfit.ErrNoScatter:     "fit.no-scatter",
	lmm.ErrNotNested:         "fit.not-nested",
	lmm.ErrOneHip:            "fit.one-hip",
	wearfit.ErrRange:         "fit.range",
	wearfit.ErrRank:          "fit.rank",
	wearfit.ErrUnbalanced:    "fit.unbalanced",
	wearfit.ErrUnsettled:     "fit.unsettled",
	lmm.ErrRepeats:           "fit.repeats",
	lmm.ErrSE:                "fit.no-error",
	lmm.ErrML:                "fit.ml",
	lmm.ErrUntold:            "fit.untold",
	lmm.ErrBootstrap:         "fit.bootstrap",
	lmm.ErrDraws:             "fit.draws",
	lmm.ErrWeights:           "fit.weights",
	settle.ErrOneHip:         "settle.one-hip",
	settle.ErrTwoTimes:       "settle.two-times",
	settle.ErrColumns:        "settle.columns",
	settle.ErrRow:            "settle.row",
	settle.ErrReadings:       "settle.readings",
	settle.ErrSearch:         "settle.search",
	survive.ErrAlike:         "liners.alike",
	survive.ErrFewPatients:   "liners.few-patients",
	survive.ErrNoEvent:       "liners.no-event",
	survive.ErrNone:          "liners.none",
	survive.ErrSame:          "liners.same",
	survive.ErrSeparate:      "liners.separate",
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
	case *lmm.NestError:
		return Note{Code: "fit.two-patients", Values: texts.Values{"Hip": e.Hip, "First": e.First, "Second": e.Second}}, true
	}
	switch e := err.(type) {
	case *lmm.ManyError:
		return Note{Code: "fit.many-readings", Values: Values{"Hip": e.Hip, "N": float64(e.N), "Most": float64(e.Most)}}, true
	case *lmm.BaseError:
		return Note{Code: "fit.two-baselines", Values: Values{"Hip": e.Hip, "First": e.First, "Second": e.Second}}, true
	case *lmm.SEError:
		return Note{Code: "fit.bad-error", Values: Values{"N": float64(e.Index + 1), "Value": fmt.Sprint(e.Value)}}, true
	}
	switch e := err.(type) {
	case *settle.ChangeError:
		return Note{Code: "settle.change", Values: Values{"Hip": e.Hip, "First": e.First, "Second": e.Second}}, true
	case *settle.ReadingError:
		return Note{Code: "settle.negative-error", Values: Values{"N": float64(e.Index + 1), "Value": e.Value}}, true
	}
	switch e := err.(type) {
	case *survive.TimeError:
		return Note{Code: "liners.time", Values: Values{"N": float64(e.Index + 1), "Years": e.Years}}, true
	case *survive.EventError:
		return Note{Code: "liners.event", Values: Values{"N": float64(e.Index + 1), "Event": float64(e.Event), "Most": float64(survive.MaxEvent)}}, true
	case *survive.ColumnError:
		return Note{Code: "liners.column", Values: Values{"Column": fmt.Sprintf("column %d", e.Column+1), "Why": NoteOf(e.Err)}}, true
	}
	for known, code := range fitErrors {
		if err == known {
			return Note{Code: code}, true
		}
	}
	return Note{}, false
}
