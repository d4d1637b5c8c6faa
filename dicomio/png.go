package dicomio

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/png"
	"io"
	"strings"
)

// maxDeflate is the most that deflate can expand: 258 bytes from 2 bits, and a
// little (RFC 1951).
const maxDeflate = 1040

// decodePNG makes a film of a PNG of 8 or 16 bits whose pixels are grey. The picture is not
// decoded before its size has been found plausible.
func decodePNG(b []byte) (*Film, error) {
	f, err := inspectPNG(b, len(b))
	if err != nil {
		return nil, err
	}
	img, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, picture("PNG", err)
	}
	return f, f.take(img)
}

// take makes a picture that was decoded the film's own, turned as the file asks.
func (f *Film) take(img image.Image) error {
	if f.inColours {
		if err := noRadiograph(img); err != nil {
			return err
		}
	}
	grey, coloured, err := wide(img)
	if err != nil {
		return err
	}
	if coloured {
		f.warnGrey()
	}
	f.Pixels = orient(grey, f.turned)
	return nil
}

// inspectPNG reads the header of a file of size bytes that begins with b.
func inspectPNG(b []byte, size int) (*Film, error) {
	const ihdr = 8 + 8 + 13
	if len(b) < ihdr || string(b[12:16]) != "IHDR" {
		return nil, malformed("read.png-header", "PNG without a header")
	}
	w, h := binary.BigEndian.Uint32(b[16:]), binary.BigEndian.Uint32(b[20:])
	bits, colour := int(b[24]), b[25]
	samples := map[byte]int{0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[colour]
	const palette = 3
	switch {
	case colour == palette:
		bits = 8
	case samples == 0 || bits != 8 && bits != 16:
		return nil, unsupported("read.png-bits", "PNG of %d bits; 8 and 16 are read", "Bits", bits)
	}
	if err := plausible(int64(w), int64(h), samples*int(b[24])/8, size, maxDeflate); err != nil {
		return nil, err
	}
	f := &Film{Format: "PNG", Rows: int(h), Columns: int(w), Frames: 1, Frame: 1, Bits: bits, Photometric: "MONOCHROME2", inColours: colour != 0}
	f.Geometry.Scan = physical(b)
	if exif := chunk(b, "eXIf"); exif != nil {
		f.orientBy(exifOrientation(exif))
	}
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
	switch {
	case strings.Contains(said, "EOF"):
		return malformed("read.truncated", "truncated %s", "Format", format)
	case errors.As(err, &p):
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

// nearGrey is how far the colour differences of a JPEG may lie from none: rounding, when it
// is made of RGB and when its coefficients are quantized, moves them so far (common practice,
// no source).
const nearGrey = 2

// wide returns a picture whose pixels are all grey as 16-bit values, those of 8 bits unscaled;
// coloured says that it was stored in colours. One that is not grey, or that one sees through, is
// refused.
func wide(img image.Image) (out *image.Gray16, coloured bool, err error) {
	switch img := img.(type) {
	case *image.Gray16:
		return img, false, nil
	case *image.Gray:
		return widened(img.Pix, img.Stride, img.Rect), false, nil
	case *image.YCbCr:
		for _, plane := range [][]byte{img.Cb, img.Cr} {
			for _, v := range plane {
				if v < 128-nearGrey || v > 128+nearGrey {
					return nil, true, errColour()
				}
			}
		}
		return widened(img.Y, img.YStride, img.Rect), true, nil
	}
	shift := 8
	switch img.(type) {
	case *image.NRGBA64, *image.RGBA64:
		shift = 0
	}
	r := img.Bounds()
	out = image.NewGray16(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		for x := range r.Dx() {
			red, green, blue, alpha := img.At(r.Min.X+x, r.Min.Y+y).RGBA()
			if red != green || red != blue || alpha != 0xFFFF {
				return nil, true, errColour()
			}
			binary.BigEndian.PutUint16(out.Pix[y*out.Stride+2*x:], uint16(red>>shift))
		}
	}
	return out, true, nil
}

// widened returns bytes as 16-bit values.
func widened(pix []byte, stride int, r image.Rectangle) *image.Gray16 {
	out := image.NewGray16(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		for x, v := range pix[y*stride:][:r.Dx()] {
			out.Pix[y*out.Stride+2*x+1] = v
		}
	}
	return out
}

// physical reads the pixel size from a pHYs chunk (ISO/IEC 15948 11.3.5.3).
func physical(b []byte) (pair [2]float64) {
	v := chunk(b, "pHYs")
	if len(v) != 9 || v[8] != 1 { // pixels per metre
		return pair
	}
	x, y := binary.BigEndian.Uint32(v), binary.BigEndian.Uint32(v[4:])
	if x > 0 && y > 0 {
		return [2]float64{1000 / float64(y), 1000 / float64(x)}
	}
	return pair
}

// chunk returns the first chunk of a kind that stands before the picture of a PNG, or nil.
func chunk(b []byte, want string) []byte {
	for p := 8; len(b)-p >= 12; {
		n, kind := binary.BigEndian.Uint32(b[p:]), string(b[p+4:p+8])
		if kind == "IDAT" || uint64(n) > uint64(len(b)-p-12) {
			return nil
		}
		if kind == want {
			return b[p+8 : p+8+int(n)]
		}
		p += 12 + int(n)
	}
	return nil
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
