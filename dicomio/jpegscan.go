package dicomio

import (
	"bytes"
	"encoding/binary"
	"image/jpeg"
)

// maxJPEG is the most pixels that a byte of JPEG can hold: a block of 64 takes
// one bit at the least, in the first scan of a progressive picture (ITU-T T.81).
const maxJPEG = 512

// decodeJPEG makes a film of a grey JPEG of 8 bits, a scanned film.
func decodeJPEG(b []byte) (*Film, error) {
	f, err := inspectJPEG(b, len(b))
	if err != nil {
		return nil, inColour(b, err)
	}
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, picture("JPEG", err)
	}
	f.Pixels, err = wide(img)
	return f, err
}

// inspectJPEG reads the segments before the first scan of a file of size bytes
// that begins with b.
func inspectJPEG(b []byte, size int) (*Film, error) {
	f := &Film{Format: "JPEG", Frames: 1, Frame: 1, Bits: 8, Photometric: "MONOCHROME2", Lossy: true}
	for p := 2; ; {
		for p < len(b) && p+1 < len(b) && b[p] == 0xFF && b[p+1] == 0xFF {
			p++ // fill bytes
		}
		if len(b)-p < 4 {
			return nil, shortOf(b, size)
		}
		marker, n := b[p+1], int(binary.BigEndian.Uint16(b[p+2:]))
		if b[p] != 0xFF || n < 2 {
			return nil, malformed("read.jpeg-empty", "JPEG without a picture")
		}
		if len(b)-p-2 < n {
			return nil, shortOf(b, size)
		}
		segment := b[p+4 : p+2+n]
		switch {
		case marker == 0xE0 && len(segment) >= 12 && string(segment[:5]) == "JFIF\x00":
			f.Geometry.Scan = density(segment)
		case marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC:
			return f, f.frameHeader(marker, segment, size)
		case marker == 0xDA || marker == 0xD9:
			return nil, malformed("read.jpeg-empty", "JPEG without a picture")
		}
		p += 2 + n
	}
}

// shortOf is the fault of a JPEG of which b is not enough.
func shortOf(b []byte, size int) error {
	if len(b) < size {
		return errMore
	}
	return malformed("read.truncated", "truncated %s", "Format", "JPEG")
}

// frameHeader reads precision, size and number of components (T.81 B.2.2).
func (f *Film) frameHeader(marker byte, s []byte, size int) error {
	if len(s) < 6 {
		return malformed("read.jpeg-header", "JPEG with a frame header of %d bytes", "Bytes", len(s))
	}
	f.Rows, f.Columns = int(binary.BigEndian.Uint16(s[1:])), int(binary.BigEndian.Uint16(s[3:]))
	switch {
	case s[0] != 8:
		return unsupported("read.jpeg-bits", "JPEG of %d bits; 8 are read", "Bits", s[0])
	case s[5] != 1:
		return unsupported("read.jpeg-colour", "colour JPEG; save it as plain grey")
	case marker > 0xC2:
		return unsupported("read.jpeg-process", "JPEG of an uncommon process (SOF%d); save it anew", "N", marker-0xC0)
	}
	f.weigh()
	f.warnAspect()
	return plausible(int64(f.Columns), int64(f.Rows), 1, size, maxJPEG)
}

// density reads the pixel size from a JFIF segment (ITU-T T.871 10.1).
func density(s []byte) (pair [2]float64) {
	x, y := float64(binary.BigEndian.Uint16(s[8:])), float64(binary.BigEndian.Uint16(s[10:]))
	if x == 0 || y == 0 {
		return pair
	}
	switch s[7] {
	case 1:
		return [2]float64{millimetresInInch / y, millimetresInInch / x}
	case 2:
		return [2]float64{10 / y, 10 / x}
	}
	return pair
}
