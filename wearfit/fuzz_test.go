package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Whatever the numbers, a fit is finite or refused with one line.
func FuzzFitLine(f *testing.F) {
	f.Add(1.0, 0.2, 2.0, 0.3, 5.0, 0.6, 1.0)
	f.Add(1.0, 0.2, 1.0, 0.3, 1.0, 0.6, 1.0)
	f.Add(1e154, 1e154, -1e154, 1e300, 0.0, math.MaxFloat64, 1e-300)
	f.Add(0.0, 0.0, 5e-324, 1.0, 1e-160, -1.0, 1e300)
	f.Add(math.NaN(), 0.0, 1.0, math.Inf(1), 2.0, 0.0, -1.0)
	f.Add(1e8, 1.0, 1e8+1e-8, 2.0, 1e8+2e-8, 4.0, 0.5)
	f.Fuzz(func(t *testing.T, t1, y1, t2, y2, t3, y3, w float64) {
		times, values := []float64{t1, t2, t3}, []float64{y1, y2, y3}
		for _, weights := range [][]float64{nil, {1, w, 1}} {
			for _, fit := range []func(t, y, w []float64) (Line, error){FitLine, FitOrigin} {
				l, err := fit(times, values, weights)
				if err != nil {
					assert.Regexp(t, `^wearfit: [^\n]+$`, err.Error())
					continue
				}
				for _, v := range append([]float64{l.Slope, l.Intercept, l.SESlope, l.SEIntercept, l.Cov, l.Sigma, l.R2}, l.Residuals...) {
					assert.True(t, finite(v), "%+v", l)
				}
			}
		}
	})
}
