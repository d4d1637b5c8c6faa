// Package wearfit holds the statistics of a study of liner wear: curves of
// penetration over time with honest intervals, prediction, cohorts, agreement of
// readers, and the size of studies; package survive below it follows liners to
// revision.
//
// # Units
//
// Times are years, values are millimetres, slopes are millimetres a year. The
// package itself attaches no meaning to them; any two units do.
//
// # One hip
//
// FitLine, FitOrigin and FirstToLast are lines; FitStick and FitStickAt a broken
// line, FitBedding bedding-in that dies away beside wear, FitTheilSen, FitSiegel
// and FitHuber lines that bear wild films, FitVector a line in two components,
// FitCurve any curve. Compare ranks models on the same films. PredictInterval, of a
// line, a broken line and bedding-in alike, is the interval of one further film, TimeTo
// the times at which the films allow a stated penetration: one interval, several, one
// without an end, or none.
//
// FitSteady is the steady-state line with all errors that a hip's readings have: Balance
// weighs films by their own errors and by what they scatter beyond them, the baseline
// film's error is in bedding-in, in a rise and in a time, not in a rate.
//
// Least squares everywhere. Errors are assumed independent with variance
// sigma²/w; sigma is estimated from the residuals, and intervals use Student's t.
// Where the variance is known from elsewhere, Line.WithSigma replaces the
// estimate and intervals use the normal distribution. Models with a parameter
// that is not linear have profile-likelihood intervals; an end that the data do
// not tell is infinite.
//
// # Many hips
//
// Package wearfit/mixed is the linear mixed model. CompareMeans and CompareRanks compare
// two groups. Agreement, Repeat, Intraclass, Concord and Precision judge readings, Crossed
// splits their variance. Plan and
// MinimumRate are for planning. The model of bedding-in and wear of all films of a
// cohort is package settle.
//
// # References
//
//   - Draper NR, Smith H. Applied Regression Analysis, 3rd ed. Wiley 1998.
//   - Venzon DJ, Moolgavkar SH. A method for computing profile-likelihood-based
//     confidence intervals. Appl Stat 1988;37:87-94.
//   - Hudson DJ. Fitting segmented curves whose join points have to be
//     estimated. J Am Stat Assoc 1966;61:1097-1129.
//   - National Institute of Standards and Technology, Statistical Reference
//     Datasets: the certified values of the tests.
//
// The references of single methods stand beside them.
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
