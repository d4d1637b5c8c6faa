package wearfit

import (
	"math"
	"slices"
)

// Baseline is the film that penetrations are counted from. Its error is in each of them;
// it cancels in a rate.
type Baseline struct {
	Time float64
	SE   float64 // of its own reading; 0 where it is not known, then it is as good as the others
	// Inside says that it is one of the films in the line, so that no bedding-in was seen.
	Inside bool
}

// Steady is the steady-state line of one hip with all errors that its readings have: each
// film's own, what the films scatter beyond them, the baseline film's, and that of the
// scale, which all share. Where there are no degrees of freedom and no known errors its
// standard errors are infinite.
type Steady struct {
	Line  Line
	Base  Baseline
	Scale float64 // relative standard error of the scale

	scatter  Scatter
	rise     Line    // the line since the baseline film
	baseline float64 // variance of the baseline film's reading; 0 where it is in the line
	typical  float64 // root mean square of the films' standard errors
}

// FitSteady fits the line by FitReadings to films in the steady state: times, values
// counted from the baseline film b, and the standard errors of the films' own readings, nil
// where one is not known. Two films of known errors have their intervals from those.
//
// The baseline film scatters as the others do; what its own error has beyond theirs, such as
// that of an outline drawn by hand, their scatter does not show, so that it comes on top.
func FitSteady(t, y, se []float64, b Baseline, scale float64) (Steady, error) {
	line, s, err := FitReadings(t, y, se)
	if err != nil {
		return Steady{}, err
	}
	if line.DF == 0 && se != nil {
		line = line.WithSigma(1)
	}
	f := Steady{Line: line, Base: b, Scale: scale, scatter: s, rise: line, typical: RMS(se)}
	if b.Inside {
		f.rise = line.Since(b.Time)
		return f, nil
	}
	own := f.typical
	if b.SE > 0 && s.Known {
		own = b.SE
	}
	f.baseline = line.Sigma*line.Sigma/s.Weight(min(own, f.typical)) + max(0, own*own-f.typical*f.typical)
	return f, nil
}

// Told says whether the films tell an error, so that there are intervals.
func (f Steady) Told() bool { return !math.IsInf(f.Line.Sigma, 1) }

// Readings says whether the intervals rest on the two films' stated errors alone.
func (f Steady) Readings() bool { return f.Line.certain }

// Rate returns the slope.
func (f Steady) Rate() Estimate { return f.slope().estimate() }

// RateInterval returns the interval of the slope.
func (f Steady) RateInterval(level float64) Interval { return f.slope().interval(level) }

// Parts are the standard errors that an interval of a Steady is made of. With q the normal
// quantile, t Student's of DF and c the part Scatter²/(Scatter²+Known²), half its width
// squared is (Scatter²+Known²)(q² + c²(t²-q²)) + q² Scale².
type Parts struct {
	Scatter, DF float64 // told by the films' scatter, with its degrees of freedom; +Inf where it is known
	Known       float64 // of the readings beyond it
	Scale       float64 // of the scale, which all films share
}

func (s summed) parts() Parts { return Parts{math.Sqrt(s.told), s.df, math.Sqrt(s.known), s.scale} }

// RateParts returns what RateInterval is made of.
func (f Steady) RateParts() Parts { return f.slope().parts() }

// BeddingParts returns what BeddingInterval is made of; zero where the baseline film is in
// the line.
func (f Steady) BeddingParts() Parts {
	if f.Base.Inside {
		return Parts{}
	}
	return f.risen(0).parts()
}

// Bedding returns the bedding-in, the line's rise since the baseline film at time zero;
// zero without an error where the baseline film is in the line.
func (f Steady) Bedding() Estimate {
	if f.Base.Inside {
		return Estimate{DF: f.df()}
	}
	return f.Rise(0)
}

// BeddingInterval returns the interval of the bedding-in.
func (f Steady) BeddingInterval(level float64) Interval {
	if f.Base.Inside {
		return Interval{}
	}
	return f.RiseInterval(0, level)
}

// Rise returns how far the line has risen at t since the baseline film.
func (f Steady) Rise(t float64) Estimate { return f.risen(t).estimate() }

// RiseInterval returns the interval of the rise at t.
func (f Steady) RiseInterval(t, level float64) Interval { return f.risen(t).interval(level) }

// summed is a value whose variance is partly told by the films' scatter and partly known;
// scale is the standard error that the scale gives it.
type summed struct{ value, told, known, scale, df float64 }

func (f Steady) slope() summed { return f.sum(f.Line.Slope, f.Line.SESlope, 0) }

func (f Steady) risen(t float64) summed {
	y, se := f.rise.Mean(t)
	return f.sum(y, se, f.baseline)
}

func (f Steady) sum(v, se, known float64) summed {
	// What the baseline film scatters as the others do is told by them too.
	share := min(known, f.Line.Sigma*f.Line.Sigma/f.scatter.Weight(f.typical))
	return summed{v, se*se + share, known - share, f.Scale * v, f.df()}
}

// estimate has degrees of freedom by Satterthwaite (Biometrics 1946;2:110-114).
func (s summed) estimate() Estimate {
	known := s.known + s.scale*s.scale
	e := Estimate{Value: s.value, SE: math.Sqrt(s.told + known), DF: s.df}
	switch {
	case math.IsInf(s.told, 1) || known == 0:
	case s.told == 0:
		e.DF = math.Inf(1)
	default:
		e.DF *= (1 + known/s.told) * (1 + known/s.told)
	}
	return e
}

// interval takes a quantile between the normal and Student's, c the part of the variance
// that the scatter tells: its square lies c² of the way, which is Welch's expansion in the
// degrees of freedom to first order and either quantile where one part is all (Welch BL.
// Biometrika 1947;34:28-35). With one degree of freedom it holds the truth in 92.8 to 96.5 %
// for any c, with more in 94.2 to 95.6; the squares of the two half widths added would do so
// in up to 98.7, Satterthwaite's degrees of freedom in 87.
func (s summed) interval(level float64) Interval {
	if math.IsInf(s.told, 1) {
		return Unbounded()
	}
	half := 0.0
	if all := s.told + s.known; all > 0 {
		c := s.told / all
		normal, student := quantile(level, math.Inf(1)), quantile(level, s.df)
		half = math.Sqrt(all * (normal*normal + c*c*(student*student-normal*normal)))
	}
	return Interval{s.value - half, s.value + half}.Widen(s.value, s.scale, level)
}

func (f Steady) df() float64 {
	if f.Line.certain {
		return math.Inf(1)
	}
	return float64(f.Line.DF)
}

// Next returns the interval of one further film at t, as precise as the others.
func (f Steady) Next(t, level float64) Interval {
	lo, hi := f.Line.PredictWeighted(t, f.scatter.Weight(f.typical), level)
	return Interval{lo, hi}
}

// TimeTo returns when the line has risen by mm since the baseline film: the times at which
// mm lies within the interval of the rise, as in Fieller's region.
func (f Steady) TimeTo(mm, level float64) Crossing {
	from := max(0, f.Base.Time)
	start, _ := f.rise.Mean(from)
	at := f.rise.TimeTo(mm, 0, level).At
	if at < from {
		at = math.Inf(1)
	}
	c := Crossing{Level: mm, At: at, State: passage(at, start, mm)}
	if c.State == Ahead {
		c.Beyond = at > f.Line.last
	} else {
		c.At = math.Inf(1)
	}
	if !f.Told() {
		c.Times = []Interval{{from, math.Inf(1)}}
		return c
	}
	scan := scanned(from, f.Line.last)
	if !math.IsInf(c.At, 1) {
		k, _ := slices.BinarySearch(scan, c.At)
		scan = slices.Insert(scan, k, c.At)
	}
	c.Times = region(scan, func(t float64) bool { return f.RiseInterval(t, level).Contains(mm) })
	return c
}

// RMS returns the root mean square, 0 of none.
func RMS(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(max(1, len(v))))
}
