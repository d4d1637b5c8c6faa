package t81

import (
	"encoding/binary"

	"linerwatch/dicomio/codec"
)

// Bits reads the bits of entropy-coded segments. The bits at hand are kept by
// the caller, who passes them through Fill: acc holds n of them, left-aligned.
// After the data, zeros are lent, so that decoding needs no check of its own
// for every symbol; Overrun tells whether lent bits were used.
type Bits struct {
	src  []byte
	pos  int
	lent int
}

// NewBits reads from the data that follow a scan header.
func NewBits(src []byte) *Bits { return &Bits{src: src} }

// Fill adds whole bytes until acc holds 56 bits or more.
func (b *Bits) Fill(acc uint64, n uint) (uint64, uint) {
	const ones, tops = 0x0101010101010101, 0x8080808080808080
	if b.pos+8 <= len(b.src) {
		next := binary.BigEndian.Uint64(b.src[b.pos:])
		if inv := ^next; (inv-ones)&^inv&tops == 0 { // no byte is FF
			k := (63 - n) / 8
			b.pos += int(k)
			// Bits beyond the whole bytes are the next byte's and will be set again.
			return acc | next>>n, n + 8*k
		}
	}
	for n <= 56 {
		acc |= b.next() << (56 - n)
		n += 8
	}
	return acc, n
}

// next is the next byte without stuffing, or a zero lent at a marker (F.2.2.5).
func (b *Bits) next() uint64 {
	if b.pos < len(b.src) {
		v := b.src[b.pos]
		if v != 0xFF {
			b.pos++
			return uint64(v)
		}
		if b.pos+1 < len(b.src) && b.src[b.pos+1] == 0 {
			b.pos += 2
			return 0xFF
		}
	}
	b.lent += 8
	return 0
}

// Overrun tells whether bits were used that the data do not hold, n being the
// number at hand.
func (b *Bits) Overrun(n uint) bool { return b.lent > int(n) }

// Close ends an entropy-coded segment, n bits being at hand: what is left may
// only be the padding of the last byte and filling before the marker. It returns
// the position of the marker that follows.
func (b *Bits) Close(n uint) (int, error) {
	left := int(n) - b.lent
	if left < 0 {
		return 0, codec.Malformed("codec.short", "data end before the last pixel")
	}
	p := b.pos // of the first byte not used
	for ; left >= 8; left -= 8 {
		if p--; p > 0 && b.src[p] == 0 && b.src[p-1] == 0xFF {
			p--
		}
	}
	if b.pos = p + Filling(b.src[p:]); b.pos < len(b.src) && b.src[b.pos] != 0xFF {
		return 0, codec.Malformed("codec.long", "data go on after the last pixel")
	}
	return b.pos, nil
}

// Filling is the number of bytes FF and 00 before a marker: some encoders put
// them there to make the length even.
func Filling(b []byte) (n int) {
	for n < len(b) && (b[n] == 0 || b[n] == 0xFF && n+1 < len(b) && (b[n+1] == 0 || b[n+1] == 0xFF)) {
		n++
	}
	return n
}

// Restart passes the restart marker after an entropy-coded segment (F.2.1.3.1),
// the count being that of markers passed before it. No bits are at hand then.
func (b *Bits) Restart(n uint, count int) error {
	if _, err := b.Close(n); err != nil {
		return err
	}
	for b.pos+1 < len(b.src) && b.src[b.pos] == 0xFF && b.src[b.pos+1] == 0xFF {
		b.pos++
	}
	if b.pos+1 >= len(b.src) || b.src[b.pos] != 0xFF || b.src[b.pos+1] != RST0+byte(count&7) {
		return codec.Malformed("codec.no-restart", "restart marker %d is missing", "N", count&7)
	}
	b.pos += 2
	b.lent = 0
	return nil
}
