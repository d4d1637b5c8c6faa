package jpeg

import (
	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/t81"
)

const (
	side      = 8 // of a block
	blockSize = side * side
)

// zigzag gives the place in a block, row by row, of each coefficient in the
// order of coding (T.81 Figure A.6).
var zigzag = [blockSize]uint8{
	0, 1, 8, 16, 9, 2, 3, 10,
	17, 24, 32, 25, 18, 11, 4, 5,
	12, 19, 26, 33, 40, 48, 41, 34,
	27, 20, 13, 6, 7, 14, 21, 28,
	35, 42, 49, 56, 57, 50, 43, 36,
	29, 22, 15, 23, 30, 37, 44, 51,
	58, 59, 52, 45, 38, 31, 39, 46,
	53, 60, 61, 54, 47, 55, 62, 63,
}

// decoder reads the one scan of an image. acc holds the n bits at hand.
type decoder struct {
	bits      *t81.Bits
	acc       uint64
	n         uint
	dc, ac    *t81.Huffman
	quantizer *[blockSize]int32
	precision int
	interval  int   // blocks between restart markers, 0 for none
	previous  int32 // DC coefficient of the block before (F.2.2.1)
	ended     int   // blocks to come that have no more coefficients in this scan (G.1.2.2)
}

// scan decodes the blocks row by row and returns the number of bytes used.
func (d *decoder) scan(pix []uint16, rows, columns int) (int, error) {
	return d.blocks(rows, columns, func(y, x int) error {
		var b block
		if err := d.coefficients(&b); err != nil {
			return err
		}
		d.show(pix, &b, y, x, rows, columns)
		return nil
	})
}

// blocks visits the blocks of a scan row by row, passing restart markers, and
// returns the number of bytes used.
func (d *decoder) blocks(rows, columns int, visit func(y, x int) error) (int, error) {
	done := 0
	for y := 0; y < rows; y += side {
		for x := 0; x < columns; x += side {
			if d.interval > 0 && done > 0 && done%d.interval == 0 {
				if err := d.bits.Restart(d.n, done/d.interval-1); err != nil {
					return 0, err
				}
				d.acc, d.n, d.previous, d.ended = 0, 0, 0, 0
			}
			done++
			if err := visit(y, x); err != nil {
				return 0, err
			}
		}
		if d.bits.Overrun(d.n) {
			return 0, codec.Malformed("codec.short", "data end before the last pixel")
		}
	}
	return d.bits.Close(d.n)
}

// coefficients reads and dequantizes one block (F.2.2.1 and F.2.2.2).
func (d *decoder) coefficients(b *block) error {
	category := d.symbol(d.dc)
	if category > 15 {
		return codec.Malformed("codec.no-dc", "no such DC code")
	}
	d.previous += d.receive(category)
	b[0] = d.previous * d.quantizer[0]
	for k := uint(1); k < blockSize; k++ {
		symbol := d.symbol(d.ac)
		if symbol == noCode {
			return codec.Malformed("codec.no-ac", "no such AC code")
		}
		zeros, category := symbol>>4, symbol&15
		if category == 0 {
			if zeros != 15 { // the rest of the block is zero
				break
			}
			k += 15
			continue
		}
		if k += zeros; k >= blockSize {
			return codec.Malformed("codec.coefficient", "coefficient %d of a block", "N", k)
		}
		b[zigzag[k]] = d.receive(category) * d.quantizer[k]
	}
	return nil
}

const noCode = 1 << 8

// symbol decodes one Huffman code; 15 bits or more are at hand afterwards.
func (d *decoder) symbol(table *t81.Huffman) uint {
	if d.n < 32 {
		d.acc, d.n = d.bits.Fill(d.acc, d.n)
	}
	entry := table.Fast[d.acc>>(64-t81.FastBits)]
	length, symbol := uint(entry>>8), uint(entry&0xFF)
	if length == 0 {
		if length, symbol = table.Slow(uint32(d.acc >> 48)); length == 0 {
			return noCode
		}
	}
	d.acc <<= length
	d.n -= length
	return symbol
}

// receive reads a signed value of a category (F.2.2.1, RECEIVE and EXTEND).
func (d *decoder) receive(category uint) int32 {
	value := int32(d.acc >> (64 - category))
	negative := int32(^d.acc >> 63)
	d.acc <<= category
	d.n -= category
	return value - negative*(1<<category-1)
}

// show transforms a block and puts it into the image.
func (d *decoder) show(pix []uint16, b *block, y, x, rows, columns int) {
	b.inverse(d.precision)
	d.store(pix, b, y, x, min(side, rows-y), min(side, columns-x), columns)
}

// store shifts a block's levels (A.3.1) and clips them into the image.
func (d *decoder) store(pix []uint16, b *block, y, x, height, width, columns int) {
	middle := int32(1) << (d.precision - 1)
	top := 2*middle - 1
	for i := range height {
		at := (y+i)*columns + x
		row := pix[at : at+width]
		for j, v := range b[side*i : side*i+width] {
			row[j] = uint16(max(0, min(v+middle, top)))
		}
	}
}
