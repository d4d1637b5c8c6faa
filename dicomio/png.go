package dicomio

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"io"
	"strings"

	"golang.org/x/image/tiff"
)

// maxDeflate is the most that deflate can expand: 258 bytes from 2 bits, and a
// little (RFC 1951).
const maxDeflate = 1040

// decodePNG makes a film of a grey PNG of 8 or 16 bits. The picture is not
// decoded before its size has been found plausible.
func decodePNG(b []byte) (*Film, error) {
	f, err := inspectPNG(b, len(b))
	if err != nil {
		return nil, inColour(b, err)
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, picture("PNG", err)
	}
	f.Pixels, err = wide(img)
	return f, err
}

// inspectPNG reads the header of a file of size bytes that begins with b.
func inspectPNG(b []byte, size int) (*Film, error) {
	const ihdr = 8 + 8 + 13
	if len(b) < ihdr || string(b[12:16]) != "IHDR" {
		return nil, malformed("read.png-header", "PNG without a header")
	}
	w, h := binary.BigEndian.Uint32(b[16:]), binary.BigEndian.Uint32(b[20:])
	bits, colour := int(b[24]), b[25]
	switch {
	case colour != 0:
		return nil, unsupported("read.png-colour", "colour or transparent PNG; save it as plain grey of 8 or 16 bits")
	case bits != 8 && bits != 16:
		return nil, unsupported("read.png-bits", "PNG of %d bits; 8 and 16 are read", "Bits", bits)
	}
	if err := plausible(int64(w), int64(h), bits/8, size, maxDeflate); err != nil {
		return nil, err
	}
	f := &Film{Format: "PNG", Rows: int(h), Columns: int(w), Frames: 1, Frame: 1, Bits: bits, Photometric: "MONOCHROME2"}
	f.Geometry.Scan = physical(b)
	f.weigh()
	f.warnAspect()
	return f, nil
}

// picture sorts a fault that a decoder of the library found.
func picture(format string, err error) error {
	said := err.Error()
	if i := strings.LastIndex(said, ": "); i >= 0 {
		said = said[i+2:]
	}
	var p png.UnsupportedError
	var t tiff.UnsupportedError
	switch {
	case strings.Contains(said, "EOF"):
		return malformed("read.truncated", "truncated %s", "Format", format)
	case errors.As(err, &p) || errors.As(err, &t):
		return unsupported("read.with", "%s with %s", "Format", format, "What", printable(said))
	}
	return malformed("read.picture", "%s: %s", "Format", format, "Why", printable(said))
}

// plausible checks the stated size of a picture against that of its file and
// the most that its compression can expand.
func plausible(w, h int64, bytesPerPixel, file, expansion int) error {
	switch {
	case w < 1 || h < 1:
		return malformed("read.size", "%d rows x %d columns", "Rows", h, "Columns", w)
	case w > maxPixels || h > maxPixels || w*h > maxPixels:
		return unsupported("read.large", "%d rows x %d columns are more than %d megapixels", "Rows", h, "Columns", w, "Most", maxPixels>>20)
	case w*h*int64(bytesPerPixel) > int64(file)*int64(expansion):
		return malformed("read.size-bytes", "%d rows x %d columns cannot be in %d bytes", "Rows", h, "Columns", w, "Bytes", file)
	}
	return nil
}

// wide returns a grey picture as 16-bit values, those of 8 bits unscaled.
func wide(img image.Image) (*image.Gray16, error) {
	switch img := img.(type) {
	case *image.Gray16:
		return img, nil
	case *image.Gray:
		out := image.NewGray16(img.Rect)
		for y := range img.Rect.Dy() {
			row := img.Pix[y*img.Stride:][:img.Rect.Dx()]
			for x, v := range row {
				out.Pix[y*out.Stride+2*x+1] = v
			}
		}
		return out, nil
	}
	return nil, unsupported("read.colour", "colour picture; save it as plain grey of 8 or 16 bits")
}

// physical reads the pixel size from a pHYs chunk (ISO/IEC 15948 11.3.5.3).
func physical(b []byte) (pair [2]float64) {
	for p := 8; len(b)-p >= 12; {
		n, kind := binary.BigEndian.Uint32(b[p:]), string(b[p+4:p+8])
		if kind == "IDAT" || uint64(n) > uint64(len(b)-p-12) {
			return pair
		}
		if v := b[p+8:]; kind == "pHYs" && n == 9 && v[8] == 1 { // pixels per metre
			x, y := binary.BigEndian.Uint32(v), binary.BigEndian.Uint32(v[4:])
			if x > 0 && y > 0 {
				return [2]float64{1000 / float64(y), 1000 / float64(x)}
			}
		}
		p += 12 + int(n)
	}
	return pair
}

// WriteStoredPNG writes the stored values, bit for bit, as a 16-bit grey PNG.
// Signed values are written as 16-bit two's complement.
func (f *Film) WriteStoredPNG(w io.Writer) error {
	if err := f.check(); err != nil {
		return err
	}
	return png.Encode(w, &image.Gray16{Pix: f.stored(binary.BigEndian), Stride: 2 * f.Pixels.Rect.Dx(), Rect: f.Pixels.Rect})
}

// stored returns the stored values in 16 bits each, row by row, signed ones
// extended.
func (f *Film) stored(order binary.ByteOrder) []byte {
	r, flip := f.Pixels.Rect, f.flip()
	out := make([]byte, 0, 2*r.Dx()*r.Dy())
	put := order.(binary.AppendByteOrder)
	for y := range r.Dy() {
		row := f.Pixels.Pix[y*f.Pixels.Stride:][:2*r.Dx()]
		for ; len(row) > 0; row = row[2:] {
			v := binary.BigEndian.Uint16(row) ^ flip
			out = put.AppendUint16(out, uint16(signed(v, f.Bits, f.Signed)))
		}
	}
	return out
}
