package dicomio

import (
	"bytes"
	"encoding/binary"
	"io"
	"slices"
)

// Run lengths of BMP: two bytes are a count and a value, or 0 and an order (Microsoft, Bitmap
// Compression, BI_RLE8).
const (
	bmpRLE8     = 1
	rleEndLine  = 0
	rleEnd      = 1
	rleMove     = 2
	rleMost     = 128 // pixels of a byte: a pair is 255 of one value
	bmpRowsFrom = 10  // where the header tells where the rows begin
	bmpMethod   = 30  // and how they are compressed
)

// runs reports whether a BMP of 8 bits a pixel is compressed by run lengths.
func runs(b []byte) bool {
	return binary.LittleEndian.Uint16(b[28:]) == 8 && binary.LittleEndian.Uint32(b[bmpMethod:]) == bmpRLE8
}

// unrun returns the BMP b of w x h pixels without its run lengths. Pixels that they leave out
// are of value 0.
func unrun(b []byte, w, h int) ([]byte, error) {
	from := int(binary.LittleEndian.Uint32(b[bmpRowsFrom:]))
	if from < bmpHead || from > len(b) {
		return nil, malformed("read.truncated", "truncated %s", "Format", "BMP")
	}
	stride := (w + 3) &^ 3
	rows := make([]byte, stride*h)
	r := bytes.NewReader(b[from:])
	if err := unrunRows(r, rows, w, stride); err != nil {
		return nil, malformed("read.picture", "%s: %s", "Format", "BMP", "Why", err.Error())
	}
	out := slices.Clone(b[:from])
	binary.LittleEndian.PutUint32(out[bmpMethod:], 0)
	return append(out, rows...), nil
}

// unrunRows fills rows of w pixels, the lowest first. Its error is that of a stream that ends early.
func unrunRows(r *bytes.Reader, rows []byte, w, stride int) error {
	x, y := 0, 0
	put := func(v byte) {
		if at := y*stride + x; x < w && at < len(rows) {
			rows[at] = v
		}
		x++
	}
	var pair [2]byte
	for {
		if _, err := io.ReadFull(r, pair[:]); err != nil {
			return io.ErrUnexpectedEOF
		}
		n, v := pair[0], pair[1]
		switch {
		case n > 0:
			for range n {
				put(v)
			}
		case v == rleEndLine:
			x, y = 0, y+1
		case v == rleEnd:
			return nil
		case v == rleMove:
			if _, err := io.ReadFull(r, pair[:]); err != nil {
				return io.ErrUnexpectedEOF
			}
			x, y = x+int(pair[0]), y+int(pair[1])
		default: // v values as they are, and one byte more where they are odd
			values := make([]byte, (int(v)+1)&^1)
			if _, err := io.ReadFull(r, values); err != nil {
				return io.ErrUnexpectedEOF
			}
			for _, one := range values[:v] {
				put(one)
			}
		}
	}
}
