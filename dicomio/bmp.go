package dicomio

import (
	"bytes"
	"encoding/binary"
	"slices"

	"golang.org/x/image/bmp"
)

// bmpHead is the bytes of a BMP up to its resolution and what follows it.
const bmpHead = 14 + 40

// isBMP tells a BMP by its signature, by what is zero behind it and by the size of its header.
func isBMP(b []byte) bool {
	if len(b) < 18 || string(b[:2]) != "BM" || binary.LittleEndian.Uint32(b[6:]) != 0 {
		return false
	}
	switch binary.LittleEndian.Uint32(b[14:]) {
	case 12, 40, 52, 56, 108, 124:
		return true
	}
	return false
}

// inspectBMP reads the header of a file of size bytes that begins with b.
func inspectBMP(b []byte, size int) (*Film, error) {
	if len(b) < bmpHead {
		return nil, malformed("read.truncated", "truncated %s", "Format", "BMP")
	}
	expansion := 1
	if runs(b) { // which the library does not read
		b, expansion = slices.Clone(b), rleMost
		binary.LittleEndian.PutUint32(b[bmpMethod:], 0)
	}
	c, err := bmp.DecodeConfig(bytes.NewReader(b))
	if err != nil {
		return nil, bmpFault(err)
	}
	pixel := max(1, int(binary.LittleEndian.Uint16(b[28:]))/8)
	if err := plausible(int64(c.Width), int64(c.Height), pixel, size, expansion); err != nil {
		return nil, err
	}
	f := &Film{Format: "BMP", Rows: c.Height, Columns: c.Width, Frames: 1, Frame: 1, Bits: 8, Photometric: "MONOCHROME2"}
	x, y := int32(binary.LittleEndian.Uint32(b[38:])), int32(binary.LittleEndian.Uint32(b[42:]))
	if x > 0 && y > 0 { // pixels per metre
		f.Geometry.Scan = [2]float64{1000 / float64(y), 1000 / float64(x)}
	}
	f.weigh()
	f.warnAspect()
	return f, nil
}

// decodeBMP makes a film of a BMP, uncompressed or of run lengths of 8 bits, whose pixels are grey.
func decodeBMP(b []byte) (*Film, error) {
	f, err := inspectBMP(b, len(b))
	if err != nil {
		return nil, err
	}
	if runs(b) {
		if b, err = unrun(b, f.Columns, f.Rows); err != nil {
			return nil, err
		}
	}
	img, err := bmp.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, bmpFault(err)
	}
	return f, f.take(img)
}

func bmpFault(err error) error {
	if err == bmp.ErrUnsupported {
		return unsupported("read.with", "%s with %s", "Format", "BMP", "What", "an uncommon form")
	}
	return picture("BMP", err)
}
