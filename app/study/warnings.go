package study

import (
	"linerwatch/assets/texts"
	"linerwatch/measure"
)

const (
	// enoughYears is the follow-up below which rates are not compared; common
	// practice, no source.
	enoughYears = 2
	// lateBaseline is the age, in years, from which a baseline film has missed
	// part of the bedding-in: 12 weeks; common practice, no source.
	lateBaseline = 84 / daysPerYear
)

// warnUnmeasured names each film that gave no reading.
func (t *Trend) warnUnmeasured() {
	for _, list := range [2][]Measurement{t.Films, t.Lateral} {
		for i := range list {
			switch m := &list[i]; m.Status {
			case Measured:
			case Refused:
				t.warn("trend.refused", texts.Values{"Film": m.Film.Name(), "Why": m.Reason})
			default:
				t.warn("trend.failed", texts.Values{"Film": m.Film.Name(), "Why": m.Reason})
			}
		}
	}
}

// warnSeries says what weakens the trend as a whole.
func (t *Trend) warnSeries() {
	if why := t.Doubt(); !why.IsZero() {
		t.Warnings = append(t.Warnings, why)
	}
	first, last := t.Penetration[0], t.Penetration[len(t.Penetration)-1]
	if len(t.Penetration) == 1 {
		t.warn("trend.one-film", nil)
	} else if span := last.Years - first.Years; span < enoughYears {
		t.warn("trend.short", texts.Values{"Years": span, "Least": float64(enoughYears)})
	}
	t.warnBaseline()
	t.warnCups()
	t.warnProjection()
	if t.Fit == nil {
		return
	}
	if t.Fit.IntervalFrom == FromReadings {
		t.warn("trend.two-films", nil)
	}
	if t.Fit.HasInterval && t.Fit.Hi95 < 0 {
		t.warn("trend.negative", nil)
	}
}

// warnBaseline says what a late baseline hides.
func (t *Trend) warnBaseline() {
	years, start := t.Hip.Years(t.Baseline.Date()), t.Hip.Start()
	switch {
	case InSteadyState(years, start):
		t.warn("trend.steady-baseline", texts.Values{"Film": t.Baseline.Name(), "Years": years, "Start": start})
	case years > lateBaseline:
		t.warn("trend.late-baseline", texts.Values{"Film": t.Baseline.Name(), "Years": years})
	}
}

// warnCups says where films were measured against different outlines, whose
// centres need not agree.
func (t *Trend) warnCups() {
	var kind measure.CupKind
	var from string
	for _, m := range t.Films {
		if m.Status != Measured || m.CupKind == "" {
			continue
		}
		if kind != "" && m.CupKind != kind {
			t.warn("trend.cups", texts.Values{"Kind": string(kind), "Film": from, "OtherKind": string(m.CupKind), "Other": m.Film.Name()})
			return
		}
		kind, from = m.CupKind, m.Film.Name()
	}
}
