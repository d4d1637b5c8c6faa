package measure

import "math"

// CircleFit is a circle fitted to points, with the evidence.
type CircleFit struct {
	Circle
	// Cov is the covariance of X, Y, R in square pixels: s² (J'WJ)⁻¹, with s²
	// the weighted sum of squared residuals over n - 3. Three points leave no
	// residual to tell s from; Cov is then zero and means unknown.
	Cov [3][3]float64
	// Shared is the part of Cov that is the same on every film of one hip, so
	// that it leaves the difference of two films; fit.Circle knows of none.
	Shared    [3][3]float64
	Points    []Point   // the points fitted
	Residuals []float64 // signed orthogonal distance of each point, px, positive outside
	Arc       float64   // degrees of the outline covered by the points
	RMS       float64   // weighted root mean square of the residuals, px
}

// SE returns the standard errors of centre and radius, px.
func (f CircleFit) SE() (x, y, r float64) {
	return math.Sqrt(f.Cov[0][0]), math.Sqrt(f.Cov[1][1]), math.Sqrt(f.Cov[2][2])
}
