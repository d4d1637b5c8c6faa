package wearfit

import "errors"

// Line is a least-squares line y = Intercept + Slope*t.
type Line struct {
	N                int
	Slope, Intercept float64
	SESlope          float64
	SEIntercept      float64
	Cov              float64 // covariance of intercept and slope
	Sigma            float64 // residual standard deviation
	DF               int     // degrees of freedom, N-2
	Residuals        []float64
	Leverage         []float64
	R2               float64
}

// FitLine fits a line to y at times t; w are weights, nil for equal.
func FitLine(t, y, w []float64) (Line, error) {
	return Line{}, errors.New("wearfit: FitLine is being written")
}

// SlopeInterval returns the t-based interval of the slope at level (0.95).
func (l Line) SlopeInterval(level float64) (lo, hi float64) { return 0, 0 }

// InterceptInterval returns the t-based interval of the intercept at level.
func (l Line) InterceptInterval(level float64) (lo, hi float64) { return 0, 0 }

// Mean returns the line at t and the standard error of that mean.
func (l Line) Mean(t float64) (y, se float64) { return 0, 0 }

// PredictInterval returns the interval of one further observation at t.
func (l Line) PredictInterval(t, level float64) (lo, hi float64) { return 0, 0 }

// Quantile returns the two-sided t quantile for l's degrees of freedom, for
// example 2.776 at level 0.95 and 4 degrees of freedom.
func (l Line) Quantile(level float64) float64 { return 0 }
