package study

import (
	"slices"

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
	for _, m := range slices.Concat(t.Films, t.Lateral) {
		switch m.Status {
		case Measured:
		case Refused:
			t.warn("%s was not measured: %s", m.Film.Name(), m.Reason)
		default:
			t.warn("%s could not be read: %s", m.Film.Name(), m.Reason)
		}
	}
}

// warnSeries says what weakens the trend as a whole.
func (t *Trend) warnSeries() {
	first, last := t.Penetration[0], t.Penetration[len(t.Penetration)-1]
	if len(t.Penetration) == 1 {
		t.warn("one measured film: penetration needs a second one")
	} else if span := last.Years - first.Years; span < enoughYears {
		t.warn("the films span %.1f years; rates from fewer than %d years are mostly bedding-in and reading error", span, enoughYears)
	}
	t.warnBaseline()
	t.warnCups()
	t.warnProjection()
	if t.Fit == nil {
		return
	}
	if t.Fit.IntervalFrom == FromReadings {
		t.warn("two films in the line: the interval holds the readings' own errors only, not changes of position between films")
	}
	if t.Fit.HasInterval && t.Fit.Hi95 < 0 {
		t.warn("the rate is negative beyond its interval: look for a changed projection, a wrong side or an outline off its edge")
	}
}

// warnBaseline says what a late baseline hides.
func (t *Trend) warnBaseline() {
	years, start := t.Hip.Years(t.Baseline.Date()), t.Hip.Start()
	switch {
	case InSteadyState(years, start):
		t.warn("bedding-in was not observed: the baseline film %s, at %.2f years, is not from before year %g",
			t.Baseline.Name(), years, start)
	case years > lateBaseline:
		t.warn("the baseline film %s is from %.2f years after surgery: bedding-in before it is not in the figures",
			t.Baseline.Name(), years)
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
			t.warn("the cup outline is the %s on %s and the %s on %s: their centres may differ", kind, from, m.CupKind, m.Film.Name())
			return
		}
		kind, from = m.CupKind, m.Film.Name()
	}
}
