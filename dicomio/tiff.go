package dicomio

import (
	"bytes"
	"encoding/binary"
	"slices"

	"golang.org/x/image/tiff"
)

// The TIFF 6.0 fields that are looked at before a picture is decoded.
const (
	tiffWidth         = 256
	tiffHeight        = 257
	tiffBits          = 258
	tiffCompression   = 259
	tiffPhotometric   = 262
	tiffFillOrder     = 266
	tiffSamples       = 277
	tiffXResolution   = 282
	tiffYResolution   = 283
	tiffUnit          = 296
	tiffSampleFormat  = 339
	tiffWhiteIsZero   = 0
	tiffBlackIsZero   = 1
	tiffMaxEntries    = 1 << 12
	tiffUncompressed  = 1
	tiffMaxExpansion  = 1400 // of LZW: runs of 4096 bytes from 12 bits, and a little
	tiffCentimetre    = 3
	tiffInch          = 2
	millimetresInInch = 25.4
)

// decodeTIFF makes a film of a grey TIFF of 8 or 16 bits, its first picture.
func decodeTIFF(b []byte) (*Film, error) {
	f, err := inspectTIFF(b, len(b))
	if err != nil {
		return nil, err
	}
	if err := checkBlocks(b, f); err != nil {
		return nil, err
	}
	img, err := tiff.Decode(bytes.NewReader(b))
	if err != nil {
		return nil, picture("TIFF", err)
	}
	f.Pixels, err = wide(img)
	return f, err
}

// inspectTIFF reads the directory of a file of size bytes that begins with b.
// The decoder mirrors pictures in which white is zero, as a film is.
func inspectTIFF(b []byte, size int) (*Film, error) {
	d, err := readDirectory(b, size)
	if err != nil {
		return nil, err
	}
	bits := int(d.number(tiffBits, 1))
	w, h := int(d.number(tiffWidth, 0)), int(d.number(tiffHeight, 0))
	expansion := tiffMaxExpansion
	if d.number(tiffCompression, tiffUncompressed) == tiffUncompressed {
		expansion = 1
	}
	f := &Film{Format: "TIFF", Rows: h, Columns: w, Frames: 1, Frame: 1, Bits: bits}
	switch d.number(tiffPhotometric, tiffBlackIsZero) {
	case tiffBlackIsZero:
		f.Photometric = "MONOCHROME2"
	case tiffWhiteIsZero:
		f.Photometric = "MONOCHROME1"
	}
	switch {
	case f.Photometric == "" || d.number(tiffSamples, 1) != 1:
		return nil, unsupported("read.tiff-colour", "colour or transparent TIFF; save it as plain grey of 8 or 16 bits")
	case bits != 8 && bits != 16:
		return nil, unsupported("read.tiff-bits", "TIFF of %d bits; 8 and 16 are read", "Bits", bits)
	case d.number(tiffFillOrder, 1) != 1:
		return nil, unsupported("read.tiff-reversed", "TIFF with reversed bits (FillOrder 2); save it anew")
	case d.number(tiffSampleFormat, 1) != 1:
		return nil, unsupported("read.tiff-numbers", "TIFF of signed or real numbers; save it as plain grey of 8 or 16 bits")
	}
	if err := plausible(int64(w), int64(h), bits/8, size, expansion); err != nil {
		return nil, err
	}
	f.Geometry.Scan = d.spacing()
	f.weigh()
	f.warnAspect()
	return f, nil
}

// directory is the first image file directory: field number to entry.
type directory struct {
	b       []byte
	order   binary.ByteOrder
	entries map[uint16]entry
}

type entry struct {
	kind  uint16
	count uint32
	value []byte // the value, or where it stands
}

// readDirectory reads the directory of a file of size bytes that begins with b.
func readDirectory(b []byte, size int) (*directory, error) {
	d := &directory{b: b, order: binary.LittleEndian, entries: map[uint16]entry{}}
	if len(b) > 0 && b[0] == 'M' {
		d.order = binary.BigEndian
	}
	if len(b) < 8 {
		return nil, malformed("read.tiff-none", "TIFF without a directory")
	}
	p := int64(d.order.Uint32(b[4:]))
	if len(b) < size {
		return nil, errMore // its values may be anywhere
	}
	if p+2 > int64(len(b)) {
		return nil, malformed("read.tiff-beyond", "TIFF directory beyond the end of the file")
	}
	n := int64(d.order.Uint16(b[p:]))
	if n > tiffMaxEntries || p+2+12*n > int64(len(b)) {
		return nil, malformed("read.tiff-entries", "TIFF directory of %d entries", "N", n)
	}
	for e := range slices.Chunk(b[p+2:p+2+12*n], 12) {
		d.entries[d.order.Uint16(e)] = entry{d.order.Uint16(e[2:]), d.order.Uint32(e[4:]), e[8:]}
	}
	return d, nil
}

// number returns the first value of a field of whole numbers.
func (d *directory) number(field uint16, absent uint32) uint32 {
	e, ok := d.entries[field]
	switch {
	case !ok || e.count == 0:
		return absent
	case e.kind == 1:
		return uint32(e.value[0])
	case e.kind == 3 && e.count <= 2:
		return uint32(d.order.Uint16(e.value))
	case e.kind == 4 && e.count == 1:
		return d.order.Uint32(e.value)
	case e.kind == 3 || e.kind == 4: // as many as there are samples or strips
		if p := int64(d.order.Uint32(e.value)); p+4 <= int64(len(d.b)) {
			if e.kind == 3 {
				return uint32(d.order.Uint16(d.b[p:]))
			}
			return d.order.Uint32(d.b[p:])
		}
	}
	return absent
}

// numbers returns all values of a field of whole numbers, or nil.
func (d *directory) numbers(field uint16) (out []int64) {
	e, ok := d.entries[field]
	size := map[uint16]int64{3: 2, 4: 4}[e.kind]
	if !ok || size == 0 {
		return nil
	}
	b := e.value
	if n := size * int64(e.count); n > 4 {
		p := int64(d.order.Uint32(b))
		if p+n > int64(len(d.b)) {
			return nil
		}
		b = d.b[p : p+n]
	}
	for ; e.count > 0; e.count-- {
		if size == 2 {
			out = append(out, int64(d.order.Uint16(b)))
		} else {
			out = append(out, int64(d.order.Uint32(b)))
		}
		b = b[size:]
	}
	return out
}

// rational returns a field's fraction, or 0.
func (d *directory) rational(field uint16) float64 {
	e, ok := d.entries[field]
	if !ok || e.kind != 5 || e.count != 1 {
		return 0
	}
	p := int64(d.order.Uint32(e.value))
	if p+8 > int64(len(d.b)) {
		return 0
	}
	num, den := d.order.Uint32(d.b[p:]), d.order.Uint32(d.b[p+4:])
	if den == 0 {
		return 0
	}
	return float64(num) / float64(den)
}

// spacing returns row and column spacing from the resolution, or zeros.
func (d *directory) spacing() (pair [2]float64) {
	x, y := d.rational(tiffXResolution), d.rational(tiffYResolution)
	var unit float64
	switch d.number(tiffUnit, tiffInch) {
	case tiffInch:
		unit = millimetresInInch
	case tiffCentimetre:
		unit = 10
	}
	if unit == 0 || !usable(x) || !usable(y) {
		return pair
	}
	return [2]float64{unit / y, unit / x}
}
