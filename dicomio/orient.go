package dicomio

import (
	"bytes"
	"encoding/binary"
	"image"
)

// orientBy takes over how a picture is to be turned for the eye: Orientation of TIFF 6.0 and
// of Exif, 1 to 8. Rows, Columns and Geometry fit the picture so turned.
func (f *Film) orientBy(o int64) {
	switch {
	case o < 1 || o > 8:
		f.warn("scan.orientation", "orientation is %d, not 1 to 8: taken as it lies in the file", "N", o)
	case o > 1:
		f.turned = int(o)
		f.warn("scan.turned", "the file asks for its picture to be turned or mirrored (orientation %d): that was done", "N", o)
	}
	if o > 4 && o <= 8 {
		f.Rows, f.Columns = f.Columns, f.Rows
		f.Geometry.Scan[0], f.Geometry.Scan[1] = f.Geometry.Scan[1], f.Geometry.Scan[0]
	}
}

// orient returns a picture turned as an orientation asks: row 0 and column 0 of what lies in
// the file are the edges that TIFF 6.0 names.
func orient(img *image.Gray16, o int) *image.Gray16 {
	if o < 2 {
		return img
	}
	w, h := img.Rect.Dx(), img.Rect.Dy()
	mirror, upset, transpose := false, false, false // of the result: left to right, top to bottom, first exchanged
	switch o {
	case 2:
		mirror = true
	case 3:
		mirror, upset = true, true
	case 4:
		upset = true
	case 5:
		transpose = true
	case 6:
		transpose, mirror = true, true
	case 7:
		transpose, mirror, upset = true, true, true
	case 8:
		transpose, upset = true, true
	}
	return turnedBy(img, w, h, transpose, mirror, upset)
}

// turnedBy returns a picture of w x h with rows and columns exchanged, then mirrored left to
// right, then turned upside down.
func turnedBy(from *image.Gray16, w, h int, transpose, mirror, upset bool) *image.Gray16 {
	if transpose {
		w, h = h, w
	}
	out := image.NewGray16(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			sx, sy := x, y
			if mirror {
				sx = w - 1 - x
			}
			if upset {
				sy = h - 1 - y
			}
			if transpose {
				sx, sy = sy, sx
			}
			v := binary.BigEndian.Uint16(from.Pix[sy*from.Stride+2*sx:])
			binary.BigEndian.PutUint16(out.Pix[y*out.Stride+2*x:], v)
		}
	}
	return out
}

// exifOrientation returns the orientation that Exif states, a TIFF directory of its own; 1
// where it states none.
func exifOrientation(b []byte) int64 {
	all, err := pages(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return 1
	}
	return all[0].number(tiffOrientation, 1)
}

// warnGrey says that a picture of colours was read as grey.
func (f *Film) warnGrey() {
	f.warn("scan.grey", "the picture is stored in colours, all of them grey: read as grey")
}
