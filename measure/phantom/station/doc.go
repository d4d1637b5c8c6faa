// Package station turns an exposed phantom film into greys as processing stations
// and film digitisers do: each of its steps is found on clinical films, none is
// that of a product.
//
// The steps run in this order, each left out by its zero value: shading and grid
// lines on the exposure; an unsharp mask, multi-scale enhancement; the range of
// depths that becomes black to white; the tone curve; local equalisation; gamma;
// clipping; black beyond the collimator; the digitiser's blur, grain and dust;
// burned-in text; rounding to the bits stored; lossy JPEG.
//
// Unsharp masks and multi-scale enhancement after Vuylsteke P, Schoeters E. Proc
// SPIE 1994;2167:551-560 (a power law on the coefficients of a Laplacian pyramid:
// Burt PJ, Adelson EH. IEEE Trans Commun 1983;31:532-540). Local equalisation
// after Zuiderveld K. Graphics Gems IV, 1994:474-485. The film's curve after the
// density of screen-film systems: a logistic function of the logarithm of
// exposure (common practice, no source).
//
//	depth, err := phantom.Expose(scene)
//	img := station.Recipe{Tone: station.Sigmoid, Bits: 12}.Develop(depth)
package station
