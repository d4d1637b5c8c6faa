// Package study holds the domain of a wear study: hips, implants, films,
// readings and the rules that join them. It does no I/O and has no clock.
//
// # Units and frame
//
// Dates are UTC midnights; years are days since surgery over 365.25. Lengths
// are mm at the level of the hip, superior and medial positive for both sides
// (package measure).
//
// # Penetration and the steady-state line
//
// The penetration of film k is offset_k - offset_baseline. All penetrations
// share the baseline's reading error, so they are correlated with one another:
// their standard errors must not be combined as if they were independent. The
// baseline's own penetration is zero by definition, with no error.
//
// A line is fitted to the superior component of the films at or after the
// start of the steady state (one year unless the hip says otherwise). The
// shared baseline error moves all of them alike, so it leaves the slope and its
// error alone: the slope is the steady-state wear rate. It does move the
// intercept, the bedding-in; so the interval of the bedding-in is that of one
// more reading at surgery (a prediction interval at t = 0), which adds the
// baseline's own error to the line's. Where the baseline's reading is stated to
// be less certain than those of the line, the difference of the variances is
// added, too: the scatter of the line does not show it.
//
// The errors come from the scatter about the line with Student's t where there
// are three films or more ("fit"), and from the readings' standard errors with
// normal quantiles where there are two ("readings"). The latter know nothing of
// positioning: two films contain no evidence of it.
//
// # Use
//
//	t, err := study.NewTrend(hip, measurements)
//	if err != nil {
//		return err // names the film and the fault
//	}
//	if t.Fit != nil && t.Fit.HasInterval {
//		fmt.Println(t.Fit.Rate, t.Fit.Lo95, t.Fit.Hi95)
//	}
package study
