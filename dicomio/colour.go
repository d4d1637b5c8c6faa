package dicomio

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"image/png"
	"slices"
)

// ErrNoFilm is the kind of a picture that shows colours or is a chart, and says nowhere
// that it is a radiograph.
var ErrNoFilm = fmt.Errorf("%w: no radiograph", ErrUnsupported)

// colourCodes are those of pictures that are not stored as plain grey.
var colourCodes = []string{"read.png-colour", "read.jpeg-colour"}

// notGrey reports whether err is that of a picture that is not stored as plain grey.
func notGrey(err error) bool {
	f, ok := errors.AsType[*Fault](err)
	if !ok {
		return false
	}
	why, ok := f.Values["Why"].(*Fault)
	return ok && slices.Contains(colourCodes, why.Code)
}

// IsColour reports whether the file at path is a PNG or JPEG that is not stored as plain
// grey: what it shows is no film, or cannot be read as one.
func IsColour(path string) bool {
	if format, err := sniffed(path); err != nil || format != "PNG" && format != "JPEG" {
		return false
	}
	_, err := Inspect(path)
	return notGrey(err)
}

// inColour returns what is wrong with a picture that is not stored as plain grey: that it
// is no radiograph, where it shows colours or is a chart, else err.
func inColour(b []byte, err error) error {
	if !notGrey(err) {
		return err
	}
	size, read := png.DecodeConfig, png.Decode
	if sniff(b) == "JPEG" {
		size, read = jpeg.DecodeConfig, jpeg.Decode
	}
	c, fault := size(bytes.NewReader(b))
	if fault != nil || plausible(int64(c.Width), int64(c.Height), 1, len(b), maxDeflate) != nil {
		return err
	}
	img, fault := read(bytes.NewReader(b))
	if fault != nil {
		return err
	}
	switch coloured, paper := looks(img); {
	case coloured > 1e-3:
		return kind("read.no-radiograph", ErrNoFilm, refused("read.coloured", "a picture in colour; a scan of a film is saved as plain grey"))
	case paper > 0.5:
		return kind("read.no-radiograph", ErrNoFilm, refused("read.chart", "a chart or drawing"))
	}
	return err
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
