// Package fit fits circles to points, and states their errors.
//
// # Purpose
//
// Circle returns the circle nearest to points with residuals and covariance: s² (J'J)⁻¹, with s² the sum of squared residuals over n - 3. That is right for
// points that err independently; for those that err together, as edges of a film do,
// Sandwich takes the covariance from how far blocks of them move the fit. Departed is
// a circle fitted along with terms by which the outline departs from it, each with a
// prior.
//
// # Units and coordinates
//
// Those of package measure: pixels, x to the right and y downwards, angles in
// degrees. Circle works on any scale.
//
// # References
//
// Gander W, Golub GH, Strebel R. BIT 1994;34:558-578.
// Liang KY, Zeger SL. Biometrika 1986;73:13-22.
// Bell RM, McCaffrey DF. Survey Methodology 2002;28:169-181.
//
// # In short
//
//	f, err := fit.Circle(points, start)
package fit
