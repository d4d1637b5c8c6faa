package study

import (
	"cmp"
	"math"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// Point is one film's signed penetration.
type Point struct {
	Years  float64 // since surgery
	MM     float64
	SE     float64 // of the penetration, mm; 0 where unknown
	SEBase float64 // the baseline film's part of SE, which all films of the hip share, mm; 0 where unknown
	// SEScale is the relative standard error of the scale, which all films of the hip share
	// and their scatter cannot show; 0 where unknown. It is no part of SE.
	SEScale float64
	// Offset says that MM is the head's offset from the cup, not a penetration, and SE its
	// own: the earliest film of the hip is the baseline.
	Offset bool
}

// penetrations are points as penetrations: offsets counted from the earliest, whose error
// all then hold.
func penetrations(points []Point) []Point {
	if len(points) == 0 || !points[0].Offset {
		return points
	}
	base := slices.MinFunc(points, func(a, b Point) int { return cmp.Compare(a.Years, b.Years) })
	out := make([]Point, len(points))
	for i, p := range points {
		out[i] = Point{Years: p.Years, MM: p.MM - base.MM, SEScale: p.SEScale}
		if p.SE > 0 && base.SE > 0 {
			out[i].SE, out[i].SEBase = math.Hypot(p.SE, base.SE), base.SE
		}
		if p == base {
			out[i].SE = 0
		}
	}
	return out
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

	steady wearfit.Steady
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
	base := wearfit.Baseline{Time: h.base.years, SE: h.base.se, Inside: h.inside()}
	l, err := wearfit.FitSteady(h.t, h.y, h.se, base, h.scale)
	if err != nil {
		return nil, NoteOf(err)
	}
	f = &TrendFit{Line: l.Line, Rate: l.Line.Slope, StartYears: h.start, HasBedding: !base.Inside, HasInterval: l.Told(), steady: l}
	f.FirstToLast, err = wearfit.FirstToLast(h.t, h.y)
	f.HasFirstToLast = err == nil
	f.BeddingIn = l.Bedding().Value
	switch {
	case !l.Told():
		return f, Note{Code: "rate.two-unknown"}
	case l.Readings():
		f.IntervalFrom = FromReadings
	default:
		f.IntervalFrom = FromFit
	}
	rate, bedding := l.RateInterval(level), l.BeddingInterval(level)
	f.SE, f.Lo95, f.Hi95 = l.Rate().SE, rate.Lo, rate.Hi
	f.BeddingLo95, f.BeddingHi95 = bedding.Lo, bedding.Hi
	return f, Note{}
}

// scaled widens the interval of v by the relative standard error of the scale. An error
// of the scale is proportional: it turns the whole line and leaves no residuals, so the
// films' scatter cannot show it. It is taken as shared by the films, which is the worst
// case.
func scaled(v float64, i wearfit.Interval, se float64) wearfit.Interval {
	return i.Widen(v, se*v, level)
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

// CoursePoint is the mean of the steady-state line at a time; Lo and Hi are the ends of its
// 95 % interval, where Told.
type CoursePoint struct {
	Years, MM, Lo, Hi float64
	Told              bool
}

// SteadyCourse returns the steady-state line of the superior component from its start to the
// last film, as it is drawn; none where there is no line.
func (t Trend) SteadyCourse() []CoursePoint {
	m := t.SteadyLine(Superior)
	if t.Fit == nil || !m.Fitted {
		return nil
	}
	const steps = 40
	last := t.Penetration[len(t.Penetration)-1].Years
	from := min(m.From, last)
	out := make([]CoursePoint, steps+1)
	for i := range out {
		p := CoursePoint{Years: from + (last-from)*float64(i)/steps}
		p.MM, p.Lo, p.Hi, p.Told = m.Mean(p.Years)
		out[i] = p
	}
	return out
}
