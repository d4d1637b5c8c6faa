package dicomio

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"image"
	"image/jpeg"
	"io"
	"slices"

	"golang.org/x/image/tiff/lzw"
)

// errColour is the fault of a picture that is not grey.
func errColour() error {
	return unsupported("read.colour", "colour picture; save it as plain grey of 8 or 16 bits")
}

// values returns what makes a grey value of the bytes of a pixel; ok is false for a colour.
func (p *tiffPicture) values() (func(pixel []byte) (v uint16, ok bool), error) {
	sample := func(b []byte) uint16 {
		if p.bits == 8 {
			return uint16(b[0])
		}
		return p.order.Uint16(b)
	}
	switch n := p.bits / 8; p.photometric {
	case tiffWhiteIsZero:
		return func(b []byte) (uint16, bool) { return mask(p.bits) - sample(b), true }, nil
	case tiffRGB:
		return func(b []byte) (uint16, bool) {
			v := sample(b)
			return v, v == sample(b[n:]) && v == sample(b[2*n:])
		}, nil
	case tiffPalette:
		colours := p.numbers(tiffColorMap)
		if len(colours) != 3*256 {
			return nil, malformed("read.tiff-palette", "TIFF with a palette of %d numbers", "N", len(colours))
		}
		return func(b []byte) (uint16, bool) {
			i := int(b[0])
			return uint16(colours[i] >> 8), colours[i] == colours[256+i] && colours[i] == colours[512+i]
		}, nil
	}
	return func(b []byte) (uint16, bool) { return sample(b), true }, nil
}

// block decodes a strip or tile to where it lies in the picture, row by row.
func (p *tiffPicture) block(out *image.Gray16, at image.Rectangle, b []byte, value func([]byte) (uint16, bool)) error {
	r, err := p.unpacked(b)
	if err != nil {
		return err
	}
	pixel := p.samples * p.bits / 8
	row := make([]byte, pixel*at.Dx())
	for y := at.Min.Y; y < at.Max.Y; y++ {
		if _, err := io.ReadFull(r, row); err != nil {
			if y >= out.Rect.Max.Y { // below the picture
				break
			}
			return packed(err)
		}
		if p.number(tiffPredictor, 1) == 2 {
			p.add(row)
		}
		if y >= out.Rect.Max.Y {
			continue
		}
		for x := at.Min.X; x < min(at.Max.X, out.Rect.Max.X); x++ {
			v, grey := value(row[(x-at.Min.X)*pixel:])
			if !grey {
				return errColour()
			}
			binary.BigEndian.PutUint16(out.Pix[out.PixOffset(x, y):], v)
		}
	}
	if p.compression != tiffUncompressed {
		if n, _ := r.Read(row[:1]); n > 0 {
			return malformed("read.tiff-block", "TIFF with a block of more than its %d x %d pixels", "Width", at.Dx(), "Height", at.Dy())
		}
	}
	return nil
}

// packed sorts a fault of a block that is compressed.
func packed(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return malformed("read.truncated", "truncated %s", "Format", "TIFF")
	}
	return picture("TIFF", err)
}

// unpacked reads what a compressed block holds.
func (p *tiffPicture) unpacked(b []byte) (io.Reader, error) {
	switch p.compression {
	case tiffLZW:
		return lzw.NewReader(bytes.NewReader(b), lzw.MSB, 8), nil
	case tiffDeflate, tiffOldDeflate:
		r, err := zlib.NewReader(bytes.NewReader(b))
		if err != nil {
			return nil, packed(err)
		}
		return r, nil
	case tiffPackBits:
		return &packBits{b: b}, nil
	}
	return bytes.NewReader(b), nil
}

// add undoes the differences along a row (TIFF 6.0 section 14).
func (p *tiffPicture) add(row []byte) {
	if p.bits == 8 {
		for i := p.samples; i < len(row); i++ {
			row[i] += row[i-p.samples]
		}
		return
	}
	for i := 2 * p.samples; i+1 < len(row); i += 2 {
		p.order.PutUint16(row[i:], p.order.Uint16(row[i:])+p.order.Uint16(row[i-2*p.samples:]))
	}
}

// packBits reads runs and literals (TIFF 6.0 section 9).
type packBits struct {
	b    []byte
	left int // of a literal, or of a run where it is negative
}

// Read implements io.Reader.
func (k *packBits) Read(out []byte) (n int, err error) {
	for n < len(out) {
		switch {
		case k.left == 0 && len(k.b) == 0:
			return n, io.EOF
		case k.left == 0:
			c := int(int8(k.b[0]))
			k.b = k.b[1:]
			if k.left = c + 1; c < 0 {
				k.left = c - 1
			}
			if c == -128 {
				k.left = 0
			}
		case len(k.b) == 0:
			return n, io.ErrUnexpectedEOF
		case k.left > 0:
			m := copy(out[n:], k.b[:min(k.left, len(k.b))])
			n, k.b, k.left = n+m, k.b[m:], k.left-m
		default:
			out[n] = k.b[0]
			if n, k.left = n+1, k.left+1; k.left == 0 {
				k.b = k.b[1:]
			}
		}
	}
	return n, nil
}

// jpegBlock decodes a strip or tile that is a JPEG of its own, its tables elsewhere (TIFF
// Technical Note 2).
func (p *tiffPicture) jpegBlock(out *image.Gray16, at image.Rectangle, b []byte) error {
	if tables, _ := p.bytes(tiffJPEGTables); len(tables) > 4 && len(b) > 2 {
		b = slices.Concat(tables[:len(tables)-2], b[2:]) // without its end, and the other's beginning
	}
	size, err := jpeg.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return picture("TIFF", err)
	}
	if size.Width != at.Dx() || size.Height < min(at.Dy(), out.Rect.Max.Y-at.Min.Y) || size.Height > at.Dy() {
		return malformed("read.tiff-block", "TIFF with a block of more than its %d x %d pixels", "Width", at.Dx(), "Height", at.Dy())
	}
	if err := fewScans(b); err != nil {
		return err
	}
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return picture("TIFF", err)
	}
	grey, _, err := wide(img)
	if err != nil {
		return err
	}
	m := uint16(0)
	if p.photometric == tiffWhiteIsZero {
		m = mask(p.bits)
	}
	for y := at.Min.Y; y < min(at.Min.Y+size.Height, out.Rect.Max.Y); y++ {
		for x := at.Min.X; x < min(at.Max.X, out.Rect.Max.X); x++ {
			out.Pix[out.PixOffset(x, y)+1] = byte(grey.Gray16At(x-at.Min.X, y-at.Min.Y).Y ^ m)
		}
	}
	return nil
}
