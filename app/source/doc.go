// Package source is where films come from: each Source lists those behind a name and
// opens one. The package makes a film ready, and says what its file states.
//
// # Coordinates
//
// A film made ready is upright, its pixels are square and its padding is black (Ready).
// All pixel coordinates of a study are those of the film made ready: (0, 0) at the
// top-left corner of the top-left pixel, x to the right, y downwards. Facts are of the
// file as it is.
//
// # Use
//
//	for _, file := range source.Expand(paths) {
//		if !file.Fault.IsZero() {
//			continue // and say so
//		}
//		film, err := source.Open(file.Path, time.Now())
//		…
//		kept := source.FilmOf(film)
//	}
package source
