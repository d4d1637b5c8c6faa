package main

import (
	"image"
	"time"

	"linerwatch/measure"
)

// film is one film to be measured, and what is true of it.
type film struct {
	set, hip, name string
	search         search
	truth          *truth // nil where no hip is replaced
	factors        []factor
	load           func() (picture, error)
}

// picture is a film's pixels, ready to be measured.
type picture struct {
	img     *image.Gray16
	spacing float64       // mm per pixel at the detector; 0 where not known
	loaded  time.Duration // reading and decoding, or drawing
}

// truth is what an ideal observer would draw on a film.
type truth struct {
	side      measure.Side
	kind      measure.CupKind
	head, cup measure.Circle  // px; of a wire ring the projection of the ring's centre
	mm        float64         // per px at the hip
	offset    measure.Vector  // along the film's columns and rows, mm
	rim       measure.Ellipse // px; A is 0 where it is not told

	others []measure.Circle // heads of other replaced hips on the film
	count  int              // hips that are to be found; 0 where it is not told
}

// factor is one thing that varies from film to film: a level, or a number.
type factor struct {
	name  string
	level string
	value float64 // where level is empty
}

// series are the films of one hip in order of date.
type series struct {
	hip   string
	films []film
}
