package dicomio

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"slices"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// colour is how the three samples of a pixel stand in a film that is stored in colours
// (PS3.3 C.7.6.3.1.2), and whether they stand in planes (C.7.6.3.1.3).
type colour struct {
	kind   string // "RGB", "YBR_FULL" or "YBR_FULL_422"; "" for a film in grey
	planes bool
}

// coloured reports whether a film of three samples is of a kind that is read.
func (l layout) coloured(samples int) bool {
	switch l.photometric {
	case "RGB", "YBR_FULL", "YBR_FULL_422":
		return samples == 3 && l.allocated == 8 && l.bits == 8 && l.shift == 0 && !l.signed
	}
	return false
}

// luma returns the greys of a frame that is stored in colours, and refuses one that is not grey.
func (l layout) luma(b []byte) (*image.Gray16, error) {
	n := l.rows * l.columns
	out := make([]byte, n)
	for i := range out {
		one, two := uint8(0), uint8(0) // what has to be alike
		switch {
		case l.colour.kind == "YBR_FULL_422": // of two pixels: Y Y CB CR (C.7.6.3.1.2)
			pair := b[i/2*4:]
			out[i], one, two = pair[i%2], pair[2], pair[3]
		case l.colour.planes:
			out[i], one, two = b[i], b[n+i], b[2*n+i]
		default:
			out[i], one, two = b[3*i], b[3*i+1], b[3*i+2]
		}
		grey := out[i]
		if l.colour.kind != "RGB" {
			grey = 128 // no difference
		}
		if one != grey || two != grey {
			return nil, errColour()
		}
	}
	return widened(out, l.columns, image.Rect(0, 0, l.columns, l.rows)), nil
}

// frame returns the bytes of one frame.
func (l layout) frame() int {
	n := l.rows * l.columns
	switch l.colour.kind {
	case "":
		return n * (l.allocated / 8)
	case "YBR_FULL_422":
		return 2 * n
	}
	return 3 * n
}

// decodeColour fills in the pixels of a frame of three samples that is compressed as baseline
// JPEG, of which alone it is known that its colours are those of the standard (PS3.5 8.2.1).
func (h *header) decodeColour(f *Film, l layout, b []byte) error {
	if h.uid != "1.2.840.10008.1.2.4.50" {
		return unsupported("read.samples", "colour (%s, %d samples per pixel), not a grey film", "Photometric", l.colour.kind, "Samples", 3)
	}
	size, err := jpeg.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return picture("JPEG", err)
	}
	if size.Width != l.columns || size.Height != l.rows {
		return malformed("read.size", "%d rows x %d columns", "Rows", size.Height, "Columns", size.Width)
	}
	if err := fewScans(b); err != nil {
		return err
	}
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return picture("JPEG", err)
	}
	f.Lossy = true
	return f.take(img)
}

// greyPalette returns the table of a palette whose colours are all grey (PS3.3 C.7.9), and
// refuses another.
func (h *header) greyPalette() (*Table, error) {
	red, err := h.tableAt(tag.RedPaletteColorLookupTableDescriptor, tag.RedPaletteColorLookupTableData, false)
	if err != nil {
		return nil, err
	}
	for _, other := range [][2]tag.Tag{
		{tag.GreenPaletteColorLookupTableDescriptor, tag.GreenPaletteColorLookupTableData},
		{tag.BluePaletteColorLookupTableDescriptor, tag.BluePaletteColorLookupTableData},
	} {
		t, err := h.tableAt(other[0], other[1], false)
		if err != nil {
			return nil, err
		}
		if t.First != red.First || t.Bits != red.Bits || !slices.Equal(t.Data, red.Data) {
			return nil, errColour()
		}
	}
	return &red, nil
}

// flip is that of the film where its pixels are no entries of a palette.
func (l layout) flip(f *Film) uint16 {
	if l.palette != nil {
		return 0
	}
	return f.flip()
}

// look replaces pixels that are entries of a palette by what they stand for.
func (l layout) look(f *Film) {
	if l.palette == nil || f.Pixels == nil {
		return
	}
	f.warnGrey()
	flip := f.flip()
	for i := 0; i+1 < len(f.Pixels.Pix); i += 2 {
		p := f.Pixels.Pix[i:]
		binary.BigEndian.PutUint16(p, l.palette.at(float64(binary.BigEndian.Uint16(p)))&mask(l.palette.Bits)^flip)
	}
}
