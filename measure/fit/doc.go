// Package fit fits circles to points, and states their errors.
//
// # Purpose
//
// Circle fits a circle to points alone, CircleFrom goes on from a start near by. Both
// minimise the weighted sum of squared orthogonal distances of the points to the
// outline. Circle returns residuals and covariance with the fit: s² (J'WJ)⁻¹, with s²
// the weighted sum of squared residuals over the points that are left when the
// parameters are told. It is right for points that err independently; for those that
// err together, as edges of a film do, Sandwich takes the covariance from how far
// blocks of them move the fit. Departed is a circle fitted along with terms by which
// the outline departs from it, each with a prior.
//
// # Units and coordinates
//
// Those of package measure: pixels, x to the right and y downwards, angles in
// degrees. CircleFrom works on any scale.
//
// # References
//
// Taubin G. IEEE Trans Pattern Anal Mach Intell 1991;13:1115-1138.
// Gander W, Golub GH, Strebel R. BIT 1994;34:558-578.
// Al-Sharadqah A, Chernov N. Electron J Stat 2009;3:886-911.
// Liang KY, Zeger SL. Biometrika 1986;73:13-22.
// Bell RM, McCaffrey DF. Survey Methodology 2002;28:169-181.
//
// # In short
//
//	f, err := fit.Circle(points, nil)
//	...
//	x, y, r := f.SE()
package fit
