package dicomio

import (
	"encoding/binary"
	"encoding/hex"
	"image"
	"slices"

	"github.com/suyashkumar/dicom/pkg/tag"

	"linerwatch/dicomio/codec"
)

const maxPixels = codec.MaxPixels

// layout is how the pixels stand in the pixel data (PS3.3 C.7.6.3.1, PS3.5 8.1.1).
type layout struct {
	rows, columns int
	frames        int
	allocated     int // bits per sample
	bits          int // bits stored
	shift         int // of the lowest bit stored
	signed        bool
	photometric   string
	colour        colour
	palette       *Table // of the greys that pixels stand for, or nil
}

// layout reads and checks the image pixel module.
func (h *header) layout() (l layout, err error) {
	var samples, high, representation, planes int
	fields := []struct {
		t      tag.Tag
		to     *int
		absent int // value where the file has none; -1: it must
	}{
		{tag.SamplesPerPixel, &samples, 1},
		{tag.NumberOfFrames, &l.frames, 1},
		{tag.Rows, &l.rows, -1},
		{tag.Columns, &l.columns, -1},
		{tag.BitsAllocated, &l.allocated, -1},
		{tag.BitsStored, &l.bits, -1},
		{tag.HighBit, &high, -2},
		{tag.PixelRepresentation, &representation, 0},
		{tag.PlanarConfiguration, &planes, 0},
	}
	for _, f := range fields {
		n, set, err := h.number(f.t)
		switch {
		case err != nil:
			return l, err
		case !set && f.absent == -1:
			return l, malformed("read.missing", "%s is missing", "Element", name(f.t))
		case !set && f.absent == -2:
			n = l.bits - 1
		case !set:
			n = f.absent
		}
		*f.to = n
	}
	l.photometric = h.str(tag.PhotometricInterpretation)
	l.signed = representation == 1
	l.shift = high - l.bits + 1
	if l.photometric == "PALETTE COLOR" && samples == 1 && !l.signed {
		if l.palette, err = h.greyPalette(); err != nil {
			return l, err
		}
		l.photometric = "MONOCHROME2"
	}
	if l.coloured(samples) {
		l.colour = colour{l.photometric, planes == 1 && l.photometric != "YBR_FULL_422"}
		l.photometric = "MONOCHROME2"
		samples = 1
	}
	return l, l.check(samples)
}

func (l layout) check(samples int) error {
	switch {
	case samples != 1 || l.photometric != "MONOCHROME1" && l.photometric != "MONOCHROME2":
		if l.photometric == "" {
			return malformed("read.missing", "%s is missing", "Element", name(tag.PhotometricInterpretation))
		}
		return unsupported("read.samples", "colour (%s, %d samples per pixel), not a grey film", "Photometric", printable(l.photometric), "Samples", samples)
	case l.rows < 1 || l.columns < 1:
		return malformed("read.size", "%d rows x %d columns", "Rows", l.rows, "Columns", l.columns)
	case l.frames > codec.MaxFrames:
		return unsupported("read.frames-most", "%d frames; films of up to %d are read", "Frames", l.frames, "Most", codec.MaxFrames)
	case l.frames < 1:
		return malformed("read.frames", "%d frames", "Frames", l.frames)
	case l.allocated != 8 && l.allocated != 16:
		return unsupported("read.allocated", "%d bits allocated per pixel; 8 and 16 are read", "Bits", l.allocated)
	case l.bits < 1 || l.bits > l.allocated || l.shift < 0 || l.shift+l.bits > l.allocated:
		return malformed("read.stored", "%d bits stored up to bit %d of %d", "Bits", l.bits, "High", l.shift+l.bits-1, "Allocated", l.allocated)
	case l.rows*l.columns > maxPixels:
		return unsupported("read.large", "%d rows x %d columns are more than %d megapixels", "Rows", l.rows, "Columns", l.columns, "Most", maxPixels>>20)
	}
	return nil
}

// native returns the bytes of one frame, counted from 1, of uncompressed pixel data.
func (h *header) native(l layout, frame int) ([]byte, error) {
	n, whole := h.pixels.n, int64(l.frame())*int64(l.frames)
	switch {
	case n == undefined:
		return nil, malformed("read.no-length", "uncompressed, but the pixel data has no length")
	case int64(n) < whole:
		return nil, malformed("read.needs-bytes", "%d rows x %d columns x %d frames need %d bytes, the pixel data has %d", "Rows", l.rows, "Columns", l.columns, "Frames", l.frames, "Need", whole, "Have", n)
	}
	from := h.pixels.value + (frame-1)*l.frame()
	if h.rest != nil {
		if err := h.rest.possible(whole); err != nil {
			return nil, err
		}
		return h.part(from, l.frame())
	}
	if have := int64(h.size - h.pixels.value); have < whole {
		return nil, malformed("read.pixels-truncated", "truncated: %d of %d bytes of pixel data are there", "Have", have, "Whole", whole)
	}
	part := h.data[from : from+l.frame() : from+l.frame()]
	if l.frames > 1 {
		part = slices.Clone(part) // lest one frame keep them all
	}
	return part, nil
}

// grey turns one uncompressed frame into grey values, by the film's flip. Where it
// can it does so in place: the image then keeps b.
func (l layout) grey(b []byte, order binary.ByteOrder, flip uint16) *image.Gray16 {
	out := l.picture(b)
	m := mask(l.bits)
	if l.allocated == 8 {
		out.Pix = make([]byte, 2*len(b))
		for i, v := range b {
			binary.BigEndian.PutUint16(out.Pix[2*i:], uint16(v)>>l.shift&m^flip)
		}
		return out
	}
	if order == binary.BigEndian {
		swap(b)
	}
	convert(b, l.shift, m, flip)
	return out
}

// picture is one of the samples in b.
func (l layout) picture(b []byte) *image.Gray16 {
	return &image.Gray16{Pix: b, Stride: 2 * l.columns, Rect: image.Rect(0, 0, l.columns, l.rows)}
}

// plain tells whether a file is one frame of greys of 16 bits.
func (l layout) plain() bool {
	return l.allocated == 16 && l.frames == 1 && l.colour.kind == "" && l.palette == nil
}

// follow turns one uncompressed frame of 16 bits, little endian, into grey values in
// place, and takes the picture's key, part by part behind the hash of the file: upTo are
// places in the file, and the frame begins at from. The hash, the greys and the key so
// cost the time of one of them.
func (f *Film) follow(l layout, b []byte, from int, upTo <-chan int) {
	f.Pixels = l.picture(b)
	key, m, flip := f.keyHash(), mask(l.bits), f.flip()
	next := func(end int) {
		convert(b[:end], l.shift, m, flip)
		key.Write(b[:end])
		b = b[end:]
	}
	for place := range upTo {
		const words = 8 // what convert takes at once
		if end := min(place-from, len(b)) / words * words; end > 0 {
			next(end)
			from += end
		}
	}
	next(len(b))
	f.Key = hex.EncodeToString(key.Sum(nil))
}

// lanes repeats v in the four 16-bit lanes of a word.
func lanes(v uint16) uint64 { return uint64(v) * 0x0001_0001_0001_0001 }

// convert turns little endian samples into big endian values
// (sample >> shift & mask) ^ flip, four at a time. The mask leaves no bit of a
// neighbouring lane.
func convert(b []byte, shift int, mask, flip uint16) {
	m, f := lanes(mask), lanes(flip)
	const low = 0x00FF_00FF_00FF_00FF
	for ; len(b) >= 8; b = b[8:] {
		v := binary.LittleEndian.Uint64(b)>>shift&m ^ f
		binary.LittleEndian.PutUint64(b, v>>8&low|v&low<<8)
	}
	for ; len(b) >= 2; b = b[2:] {
		binary.BigEndian.PutUint16(b, binary.LittleEndian.Uint16(b)>>shift&mask^flip)
	}
}

// swapped returns a copy of b with the bytes of each pair exchanged. The last
// byte of an odd number stands for itself: its fellow is not in b.
func swapped(b []byte) []byte {
	b = slices.Clone(b)
	swap(b[:len(b)&^1])
	return b
}

// swap exchanges the bytes of each sample.
func swap(b []byte) { convert(b, 0, 0xFFFF, 0) }
