package study

import (
	"fmt"
	"math"

	"linerwatch/wearfit"
)

// Point is one film's signed penetration.
type Point struct {
	Years float64 // since surgery
	MM    float64
	SE    float64 // of the film's own reading, mm; 0 where unknown
}

// TrendFit is the steady-state line through the signed penetration: the
// superior component on films, whatever was measured in a table. The line's
// residuals are in the order of the films that are InLine, or of the rows.
type TrendFit struct {
	Line           wearfit.Line
	Rate, SE       float64 // mm/year; SE is 0 without an interval
	Lo95, Hi95     float64 // 0 without an interval; see HasInterval
	HasInterval    bool
	IntervalFrom   string // FromFit (three or more films) or FromReadings (two films)
	BeddingIn      float64
	BeddingLo95    float64
	BeddingHi95    float64
	HasBedding     bool    // false where the baseline itself lies in the steady state
	FirstToLast    float64 // mm/year between the first and the last film after StartYears
	HasFirstToLast bool
	StartYears     float64
}

// Where the interval of a rate comes from.
const (
	FromFit      = "fit"
	FromReadings = "readings"
)

// level of every interval of the package.
const level = 0.95

// InSteadyState reports whether a film at years counts for the steady state
// that begins at start. Years are days over 365.25, so an anniversary can fall
// up to three quarters of a day short of a whole year; it counts.
func InSteadyState(years, start float64) bool { return years > start-1/daysPerYear }

// fitSteady fits the line to points, all in the steady state. With weighted,
// the weights are 1/SE²; two points get their interval from their SEs.
// baseSE is the error of the baseline reading that all points share, 0 where
// unknown. The texts say why there is no fit or no interval.
func fitSteady(points []Point, baseSE float64, weighted bool) (*TrendFit, string) {
	var t, y, w []float64
	known := baseSE > 0
	for _, p := range points {
		t, y = append(t, p.Years), append(y, p.MM)
		w = append(w, 1/(p.SE*p.SE))
		known = known && p.SE > 0
	}
	two := len(points) == 2 && known
	if !two && !weighted {
		w = nil
	}
	line, err := wearfit.FitLine(t, y, w)
	if err != nil {
		return nil, Plain(err)
	}
	f := &TrendFit{Line: line, Rate: line.Slope, BeddingIn: line.Intercept}
	f.FirstToLast, err = wearfit.FirstToLast(t, y)
	f.HasFirstToLast = err == nil
	baseWeight := 1.0
	switch {
	case two:
		f.Line, f.IntervalFrom = line.WithSigma(1), FromReadings
		baseWeight = 1 / (baseSE * baseSE)
	case line.DF == 0:
		return f, "two films without standard errors of their readings: no interval can be given"
	default:
		f.IntervalFrom = FromFit
		if weighted {
			baseWeight = 1 / (baseSE * baseSE)
		}
	}
	f.HasInterval, f.SE = true, f.Line.SESlope
	f.Lo95, f.Hi95 = f.Line.SlopeInterval(level)
	f.BeddingLo95, f.BeddingHi95 = f.Line.PredictWeighted(0, baseWeight, level)
	if f.IntervalFrom == FromFit && !weighted {
		f.carryBase(baseSE, rms(points))
	}
	return f, ""
}

// carryBase widens the interval of the bedding-in where the baseline film's own
// reading is less certain than those of the line, such as an outline that was
// drawn by hand. The scatter of the line stands for a reading like its own; what
// the baseline's variance has beyond theirs comes on top. Either is 0 where unknown.
func (f *TrendFit) carryBase(baseSE, lineSE float64) {
	if lineSE <= 0 || baseSE <= lineSE {
		return
	}
	more := f.Line.Quantile(level) * math.Sqrt(baseSE*baseSE-lineSE*lineSE)
	f.BeddingLo95, f.BeddingHi95 = widen(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, more)
}

// normal95 is the two-sided quantile of the normal distribution at level.
const normal95 = 1.959963984540054

// carryScale widens the intervals by the relative standard error of the scale.
// An error of the scale is proportional: it turns the whole line and leaves no
// residuals, so the films' scatter cannot show it. It is taken as shared by the
// films, which is the worst case.
func (f *TrendFit) carryScale(se float64) {
	if !f.HasInterval {
		return
	}
	f.SE = math.Hypot(f.SE, se*f.Rate)
	f.Lo95, f.Hi95 = widen(f.Rate, f.Lo95, f.Hi95, normal95*se*f.Rate)
	f.BeddingLo95, f.BeddingHi95 = widen(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, normal95*se*f.BeddingIn)
}

// widen adds an independent error of half width more to the interval of v.
func widen(v, lo, hi, more float64) (float64, float64) {
	return v - math.Hypot(v-lo, more), v + math.Hypot(hi-v, more)
}

// startAt states where the steady state begins. With a baseline that lies in it
// there was no bedding-in to see.
func (f *TrendFit) startAt(years float64, baselineInside bool) {
	f.StartYears = years
	f.HasBedding = !baselineInside
	if baselineInside {
		f.BeddingIn, f.BeddingLo95, f.BeddingHi95 = 0, 0, 0
	}
}

// tooFew says why a line needs more films; n is the number in the steady state.
func tooFew(n int, start float64) string {
	switch n {
	case 0:
		return fmt.Sprintf("no rate: no measured film at or after %s", yearsText(start))
	case 1:
		return fmt.Sprintf("no rate: one measured film at or after %s, two are needed (three for an interval from their scatter)", yearsText(start))
	}
	return ""
}

// yearsText writes "1 year" or "1.5 years".
func yearsText(v float64) string {
	if v == 1 {
		return "1 year"
	}
	return digits(v) + " years"
}

// rms returns the root mean square of the points' standard errors, 0 where one
// is unknown.
func rms(points []Point) float64 {
	var sum float64
	for _, p := range points {
		if p.SE <= 0 {
			return 0
		}
		sum += p.SE * p.SE
	}
	return math.Sqrt(sum / float64(max(1, len(points))))
}
