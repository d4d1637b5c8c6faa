package dicomio

import (
	"encoding/binary"
	"errors"
	"io"
	"slices"
)

// directory is an image file directory of a TIFF, or of a BigTIFF, in which numbers and
// places have 8 bytes: field number to entry.
type directory struct {
	r       io.ReaderAt
	size    int64
	order   binary.ByteOrder
	big     bool
	entries map[uint16]entry
}

type entry struct {
	kind  uint16
	count uint64
	value []byte // the value, or where it stands
}

// kindBytes are the bytes of a number of each kind that is read.
var kindBytes = map[uint16]uint64{1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 13: 4, 16: 8, 18: 8}

const (
	tiffMaxEntries = 1 << 12
	tiffMaxValue   = 1 << 24 // bytes of a field
	tiffMaxPages   = 1 << 12
)

// part reads n bytes at p.
func (d *directory) part(p, n int64) ([]byte, error) {
	if p < 0 || n < 0 || p > d.size-n {
		return nil, io.ErrUnexpectedEOF
	}
	b := make([]byte, n)
	if _, err := d.r.ReadAt(b, p); err != nil && !errors.Is(err, io.EOF) {
		return nil, refused("read.changed", "changed while it was read: %v", "Why", err)
	}
	return b, nil
}

// word reads a number that a place in the file has: of 8 bytes in a BigTIFF.
func (d *directory) word(b []byte) int64 {
	if d.big {
		return int64(d.order.Uint64(b))
	}
	return int64(d.order.Uint32(b))
}

// pages reads the directories of the pictures of a TIFF, without those of smaller copies and
// of masks (NewSubfileType, TIFF 6.0 section 8).
func pages(r io.ReaderAt, size int64) (out []*directory, err error) {
	d := &directory{r: r, size: size, order: binary.LittleEndian}
	head, err := d.part(0, min(16, size))
	if err != nil || len(head) < 8 {
		return nil, malformed("read.tiff-none", "TIFF without a directory")
	}
	if head[0] == 'M' {
		d.order = binary.BigEndian
	}
	from := head[4:]
	if d.big = d.order.Uint16(head[2:]) == 43; d.big {
		if len(head) < 16 || d.order.Uint16(head[4:]) != 8 {
			return nil, malformed("read.tiff-none", "TIFF without a directory")
		}
		from = head[8:]
	}
	seen := map[int64]bool{}
	for p := d.word(from); p != 0 && !seen[p] && len(seen) < tiffMaxPages; {
		seen[p] = true
		page := *d
		next, err := page.read(p)
		if err != nil && len(out) == 0 {
			return nil, err
		}
		if err != nil {
			break // a chain that is broken behind a picture
		}
		if page.number(tiffSubfile, 0)&(tiffSmaller|tiffMask) == 0 || len(out) == 0 {
			out = append(out, &page)
		}
		p = next
	}
	if len(out) == 0 {
		return nil, malformed("read.tiff-none", "TIFF without a directory")
	}
	return out, nil
}

// read reads the directory at p and returns where the next is, 0 for none.
func (d *directory) read(p int64) (next int64, err error) {
	count, each, inline := int64(2), int64(12), int64(4)
	if d.big {
		count, each, inline = 8, 20, 8
	}
	b, err := d.part(p, count)
	if err != nil {
		return 0, malformed("read.tiff-beyond", "TIFF directory beyond the end of the file")
	}
	n := int64(d.order.Uint16(b))
	if d.big {
		n = int64(d.order.Uint64(b))
	}
	if n < 0 || n > tiffMaxEntries {
		return 0, malformed("read.tiff-entries", "TIFF directory of %d entries", "N", n)
	}
	if b, err = d.part(p+count, each*n+inline); err != nil {
		if b, err = d.part(p+count, each*n); err != nil {
			return 0, malformed("read.tiff-entries", "TIFF directory of %d entries", "N", n)
		}
		b = append(b, make([]byte, inline)...) // the last one, cut short
	}
	d.entries = map[uint16]entry{}
	for e := range slices.Chunk(b[:each*n], int(each)) {
		one := entry{kind: d.order.Uint16(e[2:]), count: uint64(d.order.Uint32(e[4:])), value: e[8:]}
		if d.big {
			one.count, one.value = d.order.Uint64(e[4:]), e[12:]
		}
		d.entries[d.order.Uint16(e)] = one
	}
	return d.word(b[each*n:]), nil
}

// bytes returns the value of a field, nil where there is none or it is not in the file.
func (d *directory) bytes(field uint16) (b []byte, e entry) {
	e, ok := d.entries[field]
	size := kindBytes[e.kind]
	if !ok || size == 0 || e.count == 0 || e.count > tiffMaxValue/size {
		return nil, e
	}
	n := size * e.count
	if n <= uint64(len(e.value)) {
		return e.value[:n], e
	}
	b, err := d.part(d.word(e.value), int64(n))
	if err != nil {
		return nil, e
	}
	return b, e
}

// numbers returns all values of a field of whole numbers, or nil.
func (d *directory) numbers(field uint16) (out []int64) {
	b, e := d.bytes(field)
	for len(b) > 0 {
		switch e.kind {
		case 1:
			out = append(out, int64(b[0]))
		case 3:
			out = append(out, int64(d.order.Uint16(b)))
		case 4, 13:
			out = append(out, int64(d.order.Uint32(b)))
		case 16, 18:
			out = append(out, int64(d.order.Uint64(b)))
		default:
			return nil
		}
		b = b[kindBytes[e.kind]:]
	}
	return out
}

// number returns the first value of a field of whole numbers.
func (d *directory) number(field uint16, absent int64) int64 {
	if v := d.numbers(field); len(v) > 0 {
		return v[0]
	}
	return absent
}

// rational returns a field's fraction, or 0.
func (d *directory) rational(field uint16) float64 {
	b, e := d.bytes(field)
	if e.kind != 5 || e.count != 1 || b == nil {
		return 0
	}
	num, den := d.order.Uint32(b), d.order.Uint32(b[4:])
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
