// Package phantom renders radiographic phantom films of hip replacements with
// known truth, for demonstration and tests.
package phantom

import (
	"errors"
	"image"

	"linerwatch/measure"
)

// Scene is everything that determines one film. Fields are added by need; use
// Default and change what matters.
type Scene struct {
	Width, Height int     // pixels
	Spacing       float64 // detector mm per pixel
	SourceImage   float64 // source to detector, mm
	SourceHip     float64 // source to the plane of the hips, mm
	Bits          int     // bits stored
	Seed          uint64  // noise and texture
	Hips          []Hip   // replaced hips; a side without one gets a native femoral head
}

// Hip is one replaced hip in a scene.
type Hip struct {
	Side        measure.Side
	HeadMM      float64         // head diameter, mm
	ShellMM     float64         // outer diameter of shell, or of the wire ring, mm
	Cup         measure.CupKind // shell or wire
	Superior    float64         // head centre relative to the cup's centre, mm
	Medial      float64
	Anterior    float64
	Inclination float64 // of the cup, radiographic, degrees
	Anteversion float64
}

// Truth is what an ideal observer would draw on the film.
type Truth struct {
	Side      measure.Side
	Head, Cup measure.Circle // px, geometric circle fits to the exact silhouettes
	Offset    measure.Vector // Head - Cup in mm at the hip, no covariance
}

// Default returns a plain scene without a replaced hip.
func Default() Scene { return Scene{} }

// Render returns the film, bone bright.
func Render(s Scene) (*image.Gray16, error) {
	return nil, errors.New("phantom: Render is being written")
}

// Truths returns the ideal observer's outlines, one per entry of s.Hips.
func Truths(s Scene) ([]Truth, error) { return nil, errors.New("phantom: Truths is being written") }
