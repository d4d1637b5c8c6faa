// Package film is what package find knows of pixels: parts of a film as floats, the
// profiles across an outline, their noise, and the tone that relates grey levels to
// the intensity behind them.
//
// # Purpose
//
// A Patch is a part of a film. A Scan looks for edges on it, a Calibration makes it
// linear and moves the edges to where the outline is, and Sectors tell balls of metal
// from those that rays pass.
//
// # Units and coordinates
//
// Those of package measure: pixels, (0, 0) at the corner of the top-left pixel of the
// whole film, also on a Patch; only a shrunken one counts its own cells. Grey levels
// are those of the film, bone and metal bright.
//
// # In short
//
//	patch := film.Crop(img, c.X, c.Y, c.R+20)
//	rays := film.Scan{Center: c.Center(), Inner: c.R - 6, Outer: c.R + 6, N: 360, Sigma: 1}.Run(&patch)
package film
