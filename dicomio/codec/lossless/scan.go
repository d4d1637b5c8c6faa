package lossless

import (
	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

// decoder reads the one scan of an image. acc holds the n bits at hand.
type decoder struct {
	bits    *t81.Bits
	acc     uint64
	n       uint
	table   *t81.Huffman
	undo    func(row, above []uint16)
	origin  uint16 // the prediction where there is no neighbour, 2^(P-Pt-1)
	columns int
	every   int // rows between restart markers, 0 for none
}

// scan fills pix and returns the number of bytes used.
func (d *decoder) scan(pix []uint16) (int, error) {
	first := 0 // row at which prediction began
	for y, at := 0, 0; at < len(pix); y, at = y+1, at+d.columns {
		if d.every > 0 && y > 0 && y%d.every == 0 {
			if err := d.bits.Restart(d.n, y/d.every-1); err != nil {
				return 0, err
			}
			d.acc, d.n, first = 0, 0, y
		}
		row := pix[at : at+d.columns]
		if err := d.differences(row); err != nil {
			return 0, err
		}
		if y == first { // one-dimensional prediction (H.1.2.1)
			row[0] += d.origin
			fromLeft(row, nil)
			continue
		}
		above := pix[at-d.columns : at]
		row[0] += above[0]
		d.undo(row, above)
	}
	return d.bits.Close(d.n)
}

// differences reads the coded differences of a row, modulo 2^16 (H.1.2.2): a
// Huffman code for the category and as many bits, none for category 16.
func (d *decoder) differences(row []uint16) error {
	acc, n, table := d.acc, d.n, d.table
	for i := range row {
		if n < 32 {
			acc, n = d.bits.Fill(acc, n)
		}
		entry := table.Fast[acc>>(64-t81.FastBits)]
		length, category := uint(entry>>8), uint(entry&0xFF)
		if length == 0 {
			length, category = table.Slow(uint32(acc >> 48))
		}
		if length == 0 || category > 16 {
			return codec.Malformed("codec.no-code", "no such Huffman code")
		}
		acc <<= length
		n -= length
		if category == 16 {
			row[i] = 1 << 15
			continue
		}
		// EXTEND (F.2.2.1): a leading 0 stands for a negative difference.
		value := int32(acc >> (64 - category))
		negative := int32(^acc >> 63)
		row[i] = uint16(value - negative*(1<<category-1))
		acc <<= category
		n -= category
	}
	d.acc, d.n = acc, n
	if d.bits.Overrun(n) {
		return codec.Malformed("codec.short", "data end before the last pixel")
	}
	return nil
}
