package find

import (
	"image"

	"linerwatch/measure"
)

// Ring
func Ring(img *image.Gray16, start measure.Ellipse, head measure.Circle, headMM float64) (measure.Outline, error) {
	return measure.Outline{}, ErrNoOutline
}
