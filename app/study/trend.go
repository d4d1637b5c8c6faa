package study

import (
	"errors"

	"linerwatch/measure"
	"linerwatch/wearfit"
)

// Penetration is the head's movement since the baseline film.
type Penetration struct {
	Film  Film
	Years float64 // since surgery
	measure.Vector
}

// TrendFit is the steady-state line. Signed penetration is the superior
// component.
type TrendFit struct {
	Line           wearfit.Line
	Rate, SE       float64 // mm/year
	Lo95, Hi95     float64 // NaN-free; see HasInterval
	HasInterval    bool
	IntervalFrom   string // "fit" (three or more films) or "readings" (two films)
	BeddingIn      float64
	BeddingLo95    float64
	BeddingHi95    float64
	HasBedding     bool    // false where no film lies before StartYears
	FirstToLast    float64 // mm/year between the first and the last film after StartYears
	HasFirstToLast bool
	StartYears     float64
}

// Trend is a hip's measurements over time.
type Trend struct {
	Hip         Hip
	Films       []Measurement // in date order
	Baseline    Film
	Penetration []Penetration // measured films only, in date order
	Fit         *TrendFit     // nil where the films do not allow one; Warnings say why
	Warnings    []string
}

// NewTrend orders the measurements and fits the line.
func NewTrend(h Hip, ms []Measurement) (Trend, error) {
	return Trend{}, errors.New("study: NewTrend is being written")
}
