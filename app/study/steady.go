package study

import (
	"math"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// Point is one film's signed penetration.
type Point struct {
	Years  float64 // since surgery
	MM     float64
	SE     float64 // of the penetration, mm; 0 where unknown
	SEBase float64 // the baseline film's part of SE, which all films of the hip share, mm; 0 where unknown
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

	bedding wearfit.Estimate // without the scale's error
	rise    wearfit.Line     // the line, or where the baseline film is in it, the line since that film
	base    float64          // variance of the baseline film's reading, mm²; 0 where it is in the line
	next    float64          // weight of a further film
	scale   float64          // relative standard error of the scale
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

// steady fits the line to films, all in the steady state: weighed by their errors and
// scatter where the errors are known, else alike. Two films have their interval from
// their errors. why says why there is no fit, which is then nil, or no interval.
func (h hipFilms) steady() (f *TrendFit, why Note) {
	line, s, err := wearfit.FitReadings(h.t, h.y, h.se)
	if err != nil {
		return nil, NoteOf(err)
	}
	f = &TrendFit{Line: line, Rate: line.Slope, StartYears: h.start, HasBedding: !h.inside(), scale: h.scale}
	f.FirstToLast, err = wearfit.FirstToLast(h.t, h.y)
	f.HasFirstToLast = err == nil
	df := float64(line.DF)
	switch {
	case line.DF > 0:
		f.IntervalFrom = FromFit
	case h.se != nil:
		f.Line, f.IntervalFrom, df = line.WithSigma(1), FromReadings, math.Inf(1)
	default:
		why = Note{Code: "rate.two-unknown"}
	}
	f.rise, f.next = f.Line, h.nextWeight(s)
	if f.HasBedding {
		f.BeddingIn = line.Intercept
	} else {
		f.rise = f.Line.Since(h.base.years)
	}
	if f.IntervalFrom == "" {
		return f, why
	}
	if f.HasBedding {
		f.base = h.baseVariance(s, f.Line.Sigma)
	}
	f.HasInterval = true
	f.SE = math.Hypot(f.Line.SESlope, f.scale*f.Rate)
	f.Lo95, f.Hi95 = f.Line.SlopeInterval(level)
	f.Lo95, f.Hi95 = scaled(f.Rate, f.Lo95, f.Hi95, f.scale)
	if f.HasBedding {
		i := f.interval(0)
		f.BeddingLo95, f.BeddingHi95 = i.Lo, i.Hi
	}
	f.bedding = wearfit.Estimate{Value: f.BeddingIn, SE: math.Hypot(f.Line.SEIntercept, math.Sqrt(f.base)), DF: df}
	return f, why
}

// baseVariance is the variance of the baseline film's reading, mm². It scatters as the
// films of the line do; what its own error has beyond theirs, such as that of an outline
// drawn by hand, their scatter does not show, so that it comes on top.
func (h hipFilms) baseVariance(s wearfit.Scatter, sigma float64) float64 {
	typical := rms(h.se)
	own := typical
	if h.base.se > 0 {
		own = h.base.se
	}
	return sigma*sigma/s.Weight(min(own, typical)) + max(0, own*own-typical*typical)
}

// Penetration returns the line's penetration at years since the baseline film, with that
// film's error in its interval; ok is false where there is none.
func (f *TrendFit) Penetration(years float64) (mm float64, i wearfit.Interval, ok bool) {
	mm, _ = f.rise.Mean(years)
	if !f.HasInterval {
		return mm, i, false
	}
	return mm, f.interval(years), true
}

func (f *TrendFit) interval(years float64) (i wearfit.Interval) {
	mm, se := f.rise.Mean(years)
	half := f.Line.Quantile(level) * math.Hypot(se, math.Sqrt(f.base))
	i.Lo, i.Hi = scaled(mm, mm-half, mm+half, f.scale)
	return i
}

// reach returns when the penetration since the baseline film is mm.
func (f *TrendFit) reach(mm float64) wearfit.Crossing {
	var extra float64
	if s := f.Line.Sigma; s > 0 && !math.IsInf(s, 1) {
		extra = (f.base + mm*mm*f.scale*f.scale) / (s * s)
	}
	r := f.rise.TimeTo(mm, extra, level)
	return wearfit.Crossing{Level: mm, At: r.At, Times: r.Times(0), Beyond: r.Beyond}
}

// normal95 is the two-sided quantile of the normal distribution at level.
const normal95 = 1.959963984540054

// scaled widens the interval of v by the relative standard error of the scale. An error
// of the scale is proportional: it turns the whole line and leaves no residuals, so the
// films' scatter cannot show it. It is taken as shared by the films, which is the worst
// case.
func scaled(v, lo, hi, se float64) (float64, float64) {
	more := normal95 * se * v
	return v - math.Hypot(v-lo, more), v + math.Hypot(hi-v, more)
}

// tooFew says why a line needs more films; n is the number in the steady state.
func tooFew(n int, start float64) Note {
	switch n {
	case 0:
		return Note{Code: "rate.no-film", Values: texts.Values{"Start": start}}
	case 1:
		return Note{Code: "rate.one-film", Values: texts.Values{"Start": start}}
	}
	return Note{}
}
