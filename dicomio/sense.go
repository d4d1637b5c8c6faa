package dicomio

import (
	"encoding/binary"
	"image"
	"slices"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// The greys that a file asks for are those of its stored values after the
// modality's rescaling, the values of interest and the presentation's shape, in
// this order (PS3.4 N.2; PS3.3 C.11.1, C.11.2, C.11.6). Each may turn dark into
// bright: a negative slope, a table that falls, MONOCHROME1 (C.7.6.3.1.2), the
// shape INVERSE. The last two state one inversion, not two: the standard asks for
// INVERSE with MONOCHROME1 (C.7.6.1, C.8.11.3). Pixels follow the sum of them.
//
// Pixel Intensity Relationship Sign is none of them. It says which stored values
// the denser parts of the body have, and is not to be applied to a picture for
// display (C.8.11.3.1.2).

// inverted reports whether the greatest of the values of interest is shown black.
func (f *Film) inverted() bool { return f.Greys.Inverse || f.Photometric == "MONOCHROME1" }

// mirrored reports whether Pixels are the stored values mirrored in their range.
func (f *Film) mirrored() bool { return f.inverted() != f.Greys.Falling }

// BoneDark reports whether the file says, by Pixel Intensity Relationship Sign,
// that the denser parts of the body are the darker ones in the greys that it asks
// for, which are those of Pixels. Such a file is in contradiction with itself, or
// wants bone shown dark.
func (f *Film) BoneDark() bool {
	return f.Greys.Sign < 0 && f.mirrored() || f.Greys.Sign > 0 && !f.mirrored()
}

// Negative returns the film as one that says that bone is dark in it, and says that it
// seems to be so.
func (f *Film) Negative() *Film {
	g := *f
	g.Warnings = slices.Clone(f.Warnings)
	g.Greys.Sign = 1
	if f.mirrored() {
		g.Greys.Sign = -1
	}
	g.warn("greys.negative", "black and white seem to be exchanged in this picture: nothing stood out in its own greys, and a hip with them exchanged; look whether it is one")
	return &g
}

// Exchanged returns img, which is Pixels or is made of them, with dark and bright
// exchanged.
func (f *Film) Exchanged(img *image.Gray16) *image.Gray16 {
	out := &image.Gray16{Pix: make([]byte, len(img.Pix)), Stride: img.Stride, Rect: img.Rect}
	m := mask(f.Bits)
	for i := 0; i+1 < len(img.Pix); i += 2 {
		binary.BigEndian.PutUint16(out.Pix[i:], binary.BigEndian.Uint16(img.Pix[i:])^m)
	}
	return out
}

// Unpadded returns the film with its padding black, as Display shows it; the film
// itself where there is none that is brighter.
func (f *Film) Unpadded() *Film {
	padding := f.isPadding()
	if padding == nil {
		return f
	}
	var black [1 << 16]bool
	some := false
	for v := 1; v < 1<<f.Bits; v++ {
		black[v] = padding(uint16(v))
		some = some || black[v]
	}
	if !some {
		return f
	}
	g := *f
	from := f.Pixels
	g.Pixels = &image.Gray16{Pix: make([]byte, len(from.Pix)), Stride: from.Stride, Rect: from.Rect}
	for i := 0; i+1 < len(from.Pix); i += 2 {
		if v := binary.BigEndian.Uint16(from.Pix[i:]); !black[v] {
			binary.BigEndian.PutUint16(g.Pixels.Pix[i:], v)
		}
	}
	return &g
}

// sense finds out whether values fall on their way to the values of interest, as
// DefaultVOI has them.
func (f *Film) sense() {
	g := &f.Greys
	g.Falling = g.Slope < 0
	if g.Modality != nil {
		g.Falling = f.falls(tag.ModalityLUTSequence, *g.Modality)
	}
	if len(g.Windows) == 0 && len(g.Tables) > 0 && f.falls(tag.VOILUTSequence, g.Tables[0]) {
		g.Falling = !g.Falling
	}
}

// falls reports whether the entries of a table fall: on the whole, by the sign of
// their covariance with their places, where they do both.
func (f *Film) falls(of tag.Tag, t Table) bool {
	var sum float64
	var up, down bool
	for i, v := range t.Data {
		sum += float64(2*i-len(t.Data)+1) * float64(v)
		if i > 0 {
			up, down = up || v > t.Data[i-1], down || v < t.Data[i-1]
		}
	}
	if up && down {
		way := "rising"
		if sum < 0 {
			way = "falling"
		}
		f.warn("tag.rises-and-falls", "%s rises and falls: dark and bright are taken as %s", "Element", name(of), "Way", way)
	}
	return sum < 0
}

// sign reads Pixel Intensity Relationship Sign.
func (h *header) sign(f *Film) int {
	switch s := h.str(tag.PixelIntensityRelationshipSign); s {
	case "":
	case "1", "+1":
		return 1
	case "-1", "65535": // a type that has no sign
		return -1
	default:
		f.warn("tag.unknown", "%s is %q, which the standard does not know", "Element", name(tag.PixelIntensityRelationshipSign), "Value", printable(s))
	}
	return 0
}
