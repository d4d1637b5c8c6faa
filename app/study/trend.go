package study

import (
	"math"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// ErrNoMeasuredFilm says that no film of the hip could be measured.
var ErrNoMeasuredFilm = NewError("trend.unmeasured", nil)

// Penetration is the head's movement since the baseline film. Its covariance
// holds the film's own error and the baseline's, which every film of the hip
// shares; the baseline film itself has neither.
type Penetration struct {
	Film   Film
	Years  float64 // since surgery
	InLine bool    // whether the film counts for the steady-state line
	measure.Vector
}

// Trend is a hip's measurements over time.
type Trend struct {
	Hip         Hip
	Films       []Measurement // in date order
	Baseline    Film
	Penetration []Penetration // measured films only, in date order
	Fit         *TrendFit     // nil where the films do not allow one; Warnings say why
	Method      Method        // by which all films were read
	Lateral     []Measurement // lateral films, in date order
	Spatial     []Spatial     // in space, where lateral films allow it
	Warnings    []Note

	base int // the baseline film among Penetration
}

// NewTrend orders the measurements, refuses films that cannot be one series
// (two of one day, before surgery, mixed sides, patients or head diameters, an
// unknown baseline), sets lateral films aside for the movement in space, reads all films by one method (OneMethod), subtracts the
// baseline and fits the steady-state line.
//
// An error names the films; the trend then holds the films in date order and
// their warnings, no more.
func NewTrend(h Hip, ms []Measurement) (Trend, error) {
	t, err := fitTrend(h, ms)
	if err != nil {
		return t, err
	}
	t.warnSeries()
	t.pairLateral()
	return t, nil
}

// fitTrend is NewTrend as far as the rate: it says nothing of the series as a whole and
// nothing of the movement in space, which take longer.
func fitTrend(h Hip, ms []Measurement) (Trend, error) {
	ap, lateral := takeLateral(dateOrder(ms))
	t := Trend{Hip: h, Films: ap, Lateral: lateral}
	t.warnUnmeasured()
	for _, films := range [][]Measurement{t.Films, t.Lateral} {
		if err := checkSeries(h, films); err != nil {
			return t, err
		}
	}
	base, err := baselineOf(h.Baseline, t.Films)
	if err != nil {
		return t, err
	}
	if base < 0 {
		return t, ErrNoMeasuredFilm
	}
	var notes []Note
	t.Films, t.Method, notes = OneMethod(h, t.Films)
	t.Warnings = append(t.Warnings, notes...)
	t.Baseline = t.Films[base].Film
	t.subtract(base)
	t.fit()
	return t, nil
}

// subtract fills in Penetration.
func (t *Trend) subtract(base int) {
	zero := t.Films[base].Reading.Offset
	for i, m := range t.Films {
		if m.Status != Measured {
			continue
		}
		p := Penetration{Film: m.Film, Years: t.Hip.Years(m.Film.Date())}
		p.InLine = InSteadyState(p.Years, t.Hip.Start())
		if i == base {
			t.base = len(t.Penetration)
		} else {
			p.Vector = m.Reading.Offset.Sub(zero)
		}
		t.Penetration = append(t.Penetration, p)
	}
}

func (t *Trend) fit() {
	start := t.Hip.Start()
	late := t.films(Superior).late()
	if why := tooFew(len(late.t), start); !why.IsZero() {
		t.Warnings = append(t.Warnings, why)
		return
	}
	f, why := late.steady()
	if !why.IsZero() {
		t.Warnings = append(t.Warnings, why)
	}
	t.Fit = f
}

// ScaleSE returns the relative standard error of the scale of the films in the line, 0 of
// none.
func (t Trend) ScaleSE() float64 {
	var sum float64
	var n int
	for _, m := range t.Films {
		if m.Status == Measured && m.Reading.Scale > 0 && InSteadyState(t.Hip.Years(m.Film.Date()), t.Hip.Start()) {
			e := m.Reading.SEScale / m.Reading.Scale
			sum += e * e
			n++
		}
	}
	return math.Sqrt(sum / float64(max(1, n)))
}

func (t *Trend) warn(code string, v texts.Values) {
	t.Warnings = append(t.Warnings, Note{Code: code, Values: v})
}
