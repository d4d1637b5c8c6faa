package dicomio

import (
	"bytes"
	"encoding/binary"
	"image/jpeg"
)

// maxJPEG is the most pixels that a byte of JPEG can hold: a block of 64 takes
// one bit at the least, in the first scan of a progressive picture (ITU-T T.81).
const maxJPEG = 512

// decodeJPEG makes a film of a JPEG of 8 bits whose pixels are grey, a scanned film.
func decodeJPEG(b []byte) (*Film, error) {
	f, err := inspectJPEG(b, len(b))
	if err != nil {
		return nil, err
	}
	if err := fewScans(b); err != nil {
		return nil, err
	}
	img, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, picture("JPEG", err)
	}
	return f, f.take(img)
}

// inspectJPEG reads the segments before the first scan of a file of size bytes
// that begins with b.
func inspectJPEG(b []byte, size int) (*Film, error) {
	f := &Film{Format: "JPEG", Frames: 1, Frame: 1, Bits: 8, Photometric: "MONOCHROME2", Lossy: true}
	orientation := int64(1)
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
		case marker == 0xE1 && len(segment) > 6 && string(segment[:6]) == "Exif\x00\x00":
			orientation = exifOrientation(segment[6:])
		case marker >= 0xC0 && marker <= 0xCF && marker != 0xC4 && marker != 0xC8 && marker != 0xCC:
			return f, f.frameHeader(marker, segment, size, orientation)
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

// frameHeader reads precision, size and number of components (T.81 B.2.2). The picture is to
// be turned by an orientation.
func (f *Film) frameHeader(marker byte, s []byte, size int, orientation int64) error {
	if len(s) < 6 {
		return malformed("read.jpeg-header", "JPEG with a frame header of %d bytes", "Bytes", len(s))
	}
	f.Rows, f.Columns = int(binary.BigEndian.Uint16(s[1:])), int(binary.BigEndian.Uint16(s[3:]))
	switch {
	case s[0] != 8:
		return unsupported("read.jpeg-bits", "JPEG of %d bits; 8 are read", "Bits", s[0])
	case s[5] != 1 && s[5] != 3:
		return errColour()
	case marker > 0xC2:
		return unsupported("read.jpeg-process", "JPEG of an uncommon process (SOF%d); save it anew", "N", marker-0xC0)
	}
	f.inColours = s[5] == 3
	if err := plausible(int64(f.Columns), int64(f.Rows), int(s[5]), size, maxJPEG); err != nil {
		return err
	}
	f.orientBy(orientation)
	f.weigh()
	f.warnAspect()
	return nil
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
