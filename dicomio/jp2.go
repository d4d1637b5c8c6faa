package dicomio

import (
	"bytes"
	"encoding/binary"
	"image"
	"math"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/jpeg2000"
)

// jp2Size is the marker of a codestream's size, which follows its beginning (ITU-T T.800 A.5.1).
var jp2Size = []byte{0xFF, 0x4F, 0xFF, 0x51}

// maxJP2 is the most pixels that a byte of JPEG 2000 is taken to hold, as of JPEG: a tile without any code
// may have all its pixels in some 20 bytes, which no film is.
const maxJP2 = maxJPEG

// jp2 is what is read of a JPEG 2000 file before its picture.
type jp2 struct {
	columns, rows, bits int
	spacing             [2]float64
}

// readJP2 reads the boxes of a JP2 file (T.800 Annex I), or a bare codestream.
func readJP2(b []byte, size int) (j jp2, err error) {
	short := malformed("read.truncated", "truncated %s", "Format", "JPEG 2000")
	if len(b) < size {
		short = errMore
	}
	at := bytes.Index(b, jp2Size)
	if at < 0 || len(b)-at < 45 {
		return j, short
	}
	s := b[at+6:]
	word := func(i int) int64 { return int64(binary.BigEndian.Uint32(s[2+4*i:])) }
	columns, rows := word(0)-word(2), word(1)-word(3)
	switch components, bits := binary.BigEndian.Uint16(s[34:]), int(s[36]); {
	case components != 1:
		return j, unsupported("read.jp2-components", "JPEG 2000 of %d components; save it as plain grey", "N", components)
	case bits >= 16:
		return j, unsupported("read.jp2-bits", "JPEG 2000 of signed numbers or of more than 16 bits; save it as plain grey")
	default:
		j.bits = bits + 1
	}
	if err := plausible(columns, rows, 1, size, maxJP2); err != nil {
		return j, err
	}
	j.columns, j.rows = int(columns), int(rows)
	if i := bytes.Index(b[:at], []byte("resc")); i >= 0 && at-i >= 14 {
		j.spacing = captured(b[i+4:])
	}
	return j, nil
}

// captured reads the pixel size of a capture resolution box: points to the metre, vertical and
// horizontal, each a fraction and a power of ten (T.800 I.5.3.7.1).
func captured(b []byte) (pair [2]float64) {
	for i := range pair {
		n, d := float64(binary.BigEndian.Uint16(b[4*i:])), float64(binary.BigEndian.Uint16(b[4*i+2:]))
		if n == 0 || d == 0 {
			return [2]float64{}
		}
		pair[i] = 1000 / (n / d * math.Pow10(int(int8(b[8+i]))))
	}
	return pair
}

// inspectJP2 reads what a JPEG 2000 file of size bytes that begins with b says.
func inspectJP2(b []byte, size int) (*Film, error) {
	j, err := readJP2(b, size)
	if err != nil {
		return nil, err
	}
	f := &Film{Format: "JPEG 2000", Rows: j.rows, Columns: j.columns, Frames: 1, Frame: 1, Bits: j.bits, Photometric: "MONOCHROME2"}
	f.Geometry.Scan = j.spacing
	f.weigh()
	f.warnAspect()
	return f, nil
}

// decodeJP2 makes a film of a JPEG 2000 file of one component.
func decodeJP2(b []byte) (*Film, error) {
	f, err := inspectJP2(b, len(b))
	if err != nil {
		return nil, err
	}
	samples, info, err := jpeg2000.Decode(b, codec.Size{Rows: f.Rows, Columns: f.Columns, Bits: 8 * ((f.Bits + 7) / 8)})
	if err != nil {
		return nil, coded("JPEG 2000", err)
	}
	f.Lossy = info.Lossy
	f.Pixels = image.NewGray16(image.Rect(0, 0, f.Columns, f.Rows))
	for i, v := range samples {
		binary.BigEndian.PutUint16(f.Pixels.Pix[2*i:], min(v, mask(f.Bits)))
	}
	return f, nil
}
