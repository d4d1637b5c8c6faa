package jpegls

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// bitReader reads a scan's bits (T.87 A.1 and C.2.3): after a byte FF a zero bit
// is stuffed in. The bits at hand are kept by the caller, who passes them through
// fill: acc holds n of them, left-aligned. After the data, zeros are lent.
type bitReader struct {
	src  []byte
	pos  int
	lent int
}

// fill adds bits until acc holds 56 or more.
func (b *bitReader) fill(acc uint64, n uint) (uint64, uint) {
	const ones, tops = 0x0101010101010101, 0x8080808080808080
	if b.pos > 0 && b.pos+8 <= len(b.src) && b.src[b.pos-1] != 0xFF {
		next := binary.BigEndian.Uint64(b.src[b.pos:])
		if inv := ^next; (inv-ones)&^inv&tops == 0 { // no byte is FF
			k := (63 - n) / 8
			b.pos += int(k)
			// Bits beyond the whole bytes are the next byte's and will be set again.
			return acc | next>>n, n + 8*k
		}
	}
	for n < 56 {
		if b.atMarker() {
			b.lent += 8
			n += 8
			continue
		}
		width := uint(b.width(b.pos))
		acc |= uint64(b.src[b.pos]) << (64 - width) >> n
		n += width
		b.pos++
	}
	return acc, n
}

// atMarker tells whether the next byte is no data: FF before a set bit.
func (b *bitReader) atMarker() bool {
	if b.pos >= len(b.src) {
		return true
	}
	return b.src[b.pos] == 0xFF && (b.pos+1 == len(b.src) || b.src[b.pos+1] >= 0x80)
}

// overrun tells whether bits were used that the data do not hold.
func (b *bitReader) overrun(n uint) bool { return b.lent > int(n) }

// close ends the scan: what is left may only be the padding of the last byte,
// a byte put after FF so that no marker arises, and filling before the marker. It
// returns the position of the marker that follows.
func (b *bitReader) close(n uint) (int, error) {
	left := int(n) - b.lent
	if left < 0 {
		return 0, cut()
	}
	p := b.pos // of the first byte not used
	for ; left >= b.width(p-1); p-- {
		left -= b.width(p - 1)
	}
	if b.width(p) == 7 && p < len(b.src) && b.src[p] < 0x80 {
		p++
	}
	if b.pos = p + t81.Filling(b.src[p:]); b.pos == len(b.src) || !b.atMarker() {
		return 0, codec.Malformed("codec.long", "data go on after the last pixel")
	}
	return b.pos, nil
}

// width is the number of bits in the byte at p.
func (b *bitReader) width(p int) int {
	if p > 0 && b.src[p-1] == 0xFF {
		return 7
	}
	return 8
}
