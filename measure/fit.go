package measure

import "errors"

// CircleFit is a circle fitted to points, with the evidence.
type CircleFit struct {
	Circle
	Cov       [3][3]float64 // covariance of X, Y, R, in square pixels
	Points    []Point       // the points fitted
	Residuals []float64     // signed orthogonal distance of each point, px, positive outside
	Arc       float64       // degrees of the outline covered by the points
	RMS       float64       // root mean square of the residuals, px
}

// FitCircle is the weighted geometric fit.
func FitCircle(points []Point, weights []float64) (CircleFit, error) {
	return CircleFit{}, errors.New("measure: FitCircle is being written")
}
