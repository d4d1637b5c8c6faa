// Package chance draws hips and their films at random, over ranges as wide as the
// clinic's and wider, so that a finder can be tuned and judged on films that it
// cannot learn by heart.
//
// Draw is a function of a seed and the number of a hip alone. The films of a hip
// share the implant; each has its own exposure, position and processing. Every
// quantity that is drawn is a Factor of its film, and has a stream of random
// numbers of its own by its name: a factor more leaves the others as they are.
//
// A clean step of processing (a tone curve, an unsharp mask, lossy JPEG) is a
// Style. Options leave a style out, so that it can be kept for judging, or put it
// on every film.
//
// One hip in four is plain: a metal head in a smooth metal shell or a whole wire
// ring, a clear exposure, no processing beyond a tone curve. Ranges are common
// practice or wider, no source, but for what package phantom cites.
package chance
