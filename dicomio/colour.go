package dicomio

import (
	"fmt"
	"image"
	"slices"
)

// ErrNoFilm is the kind of a picture that shows colours or is a chart, and says nowhere
// that it is a radiograph.
var ErrNoFilm = fmt.Errorf("%w: no radiograph", ErrUnsupported)

// IsColour reports whether the file at path is a PNG or JPEG that is not stored as plain
// grey: most of those are no films.
func IsColour(path string) bool {
	if format, err := sniffed(path); err != nil || format != "PNG" && format != "JPEG" {
		return false
	}
	f, err := Inspect(path)
	return err == nil && f.inColours
}

// noRadiograph returns what is wrong with a picture that is not stored as plain grey and
// shows colours or is a chart; nil where it may be a film.
func noRadiograph(img image.Image) error {
	switch coloured, paper := looks(img); {
	case coloured > 1e-3:
		return kind("read.no-radiograph", ErrNoFilm, refused("read.coloured", "a picture in colour; a scan of a film is saved as plain grey"))
	case paper > 0.5:
		return kind("read.no-radiograph", ErrNoFilm, refused("read.chart", "a chart or drawing"))
	}
	return nil
}

// looks returns the share of pixels that have a colour, red, green and blue an eighth of
// the range apart, and of those that are paper: of the one light grey that most are of.
// It looks at a million of them at most.
func looks(img image.Image) (coloured, paper float64) {
	const most, apart, light = 1000, 1 << 13, 0xF0
	r := img.Bounds()
	dx, dy := max(1, r.Dx()/most), max(1, r.Dy()/most)
	n, tinted, greys := 0, 0, [256]int{}
	for y := r.Min.Y; y < r.Max.Y; y += dy {
		for x := r.Min.X; x < r.Max.X; x += dx {
			red, green, blue, _ := img.At(x, y).RGBA()
			n++
			if max(red, green, blue)-min(red, green, blue) > apart {
				tinted++
			}
			greys[green>>8]++
		}
	}
	return float64(tinted) / float64(n), float64(slices.Max(greys[light:])) / float64(n)
}
