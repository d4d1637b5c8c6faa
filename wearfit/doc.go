// Package wearfit fits curves of penetration over time and says how sure they
// are: a straight line (with or without an intercept, weighted or not), its
// standard errors, and intervals of the slope, the intercept, the mean and one
// further observation.
//
// # Units
//
// Times are years, values are millimetres, slopes are millimetres a year. The
// package itself attaches no meaning to them; any two units do.
//
// # Method
//
// Least squares on centred data: with weights w, mean time m and
// S = Σ w (t - m)², the slope is Σ w (t - m) y / S and the line passes through
// the weighted means. Errors are assumed independent with variance sigma²/w;
// sigma is estimated from the residuals with N-2 degrees of freedom (N-1
// through the origin), and intervals use Student's t. Where the variance is
// known from elsewhere, Line.WithSigma replaces the estimate and intervals use
// the normal distribution.
//
// # References
//
//   - Draper NR, Smith H. Applied Regression Analysis, 3rd ed. Wiley 1998,
//     chapters 1 and 9.
//   - National Institute of Standards and Technology, Statistical Reference
//     Datasets, linear regression: the certified values of the tests.
//
// # Use
//
//	l, err := wearfit.FitLine(years, penetration, nil)
//	if err != nil {
//		return err
//	}
//	lo, hi := l.SlopeInterval(0.95)
//	fmt.Printf("%.3f mm/year (%.3f to %.3f)\n", l.Slope, lo, hi)
package wearfit
