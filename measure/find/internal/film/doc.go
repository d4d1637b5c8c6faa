// Package film is what package find knows of pixels: parts of a film as floats, the
// profiles across an outline, their noise, and the tone that relates grey levels to
// the intensity behind them.
//
// # Purpose
//
// A Patch is a part of a film, cropped or shrunken. A Scan looks along the radial
// profiles of a circle and returns a Ray each, with the Falls of the grey level on
// it. Calibrate learns the tone of a film and the blur of an edge from the profiles
// around one outline; the Calibration then makes the film linear and moves edges to
// where the outline is. Sectors are the mean profiles of parts of a circle, to which the
// law of a ball, of metal or of what rays pass, is fitted.
//
// # Units and coordinates
//
// Those of package measure: pixels, (0, 0) at the corner of the top-left pixel of the
// whole film, also on a Patch; only a shrunken one counts its own cells. Grey levels
// are those of the film, bone and metal bright.
//
// # References
//
// Canny JF. IEEE Trans Pattern Anal Mach Intell 1986;8:679-698 (where noise puts an edge).
// Tobin J. Econometrica 1958;26:24-36 (the mean of what is cut off).
// NIST Standard Reference Database 126 (attenuation of metal).
//
// # In short
//
//	patch := film.Crop(img, c.X, c.Y, c.R+20)
//	rays := film.Scan{Center: c.Center(), Inner: c.R - 6, Outer: c.R + 6, N: 360, Sigma: 1}.Run(&patch)
package film
