package t81

import (
	"linerwatch/dicomio/codec"
)

// FastBits is the length up to which codes are found by one look-up.
const FastBits = 10

// Huffman is a decoding table. Fast is indexed by the next FastBits bits and
// holds length<<8 | symbol, or 0 for longer codes and for no code.
type Huffman struct {
	Fast    [1 << FastBits]uint16
	bound   [18]uint32 // one past the last code of each length, left-aligned in 16 bits
	offset  [17]int    // index in symbols of a length's code 0
	symbols []byte
}

// Tables are the four slots for Huffman tables of each class (B.2.4.2).
type Tables struct{ DC, AC [4]*Huffman }

// Read takes the tables of a DHT segment.
func (t *Tables) Read(body []byte) error {
	for len(body) > 0 {
		if len(body) < 17 {
			return codec.Malformed("codec.table-cut", "code table is cut")
		}
		class, slot, total := body[0]>>4, body[0]&15, 0
		for _, n := range body[1:17] {
			total += int(n)
		}
		if class > 1 || slot > 3 || total > 256 || total > len(body)-17 {
			return codec.Malformed("codec.table-codes", "code table %s with %d codes", "Table", codec.Hex(body[0], 2), "N", total)
		}
		h, err := newHuffman(body[1:17], body[17:17+total])
		if err != nil {
			return err
		}
		if class == 0 {
			t.DC[slot] = h
		} else {
			t.AC[slot] = h
		}
		body = body[17+total:]
	}
	return nil
}

// newHuffman assigns the codes of each length in order (Annex C.2).
func newHuffman(counts, symbols []byte) (*Huffman, error) {
	h := &Huffman{symbols: symbols}
	code, k := 0, 0
	for length := 1; length <= 16; length++ {
		n := int(counts[length-1])
		if code+n > 1<<length {
			return nil, codec.Malformed("codec.table-many", "code table with too many codes of %d bits", "Bits", length)
		}
		h.offset[length] = k - code
		if length <= FastBits {
			for i := range n {
				first := (code + i) << (FastBits - length)
				for j := range 1 << (FastBits - length) {
					h.Fast[first+j] = uint16(length)<<8 | uint16(symbols[k+i])
				}
			}
		}
		code, k = code+n, k+n
		h.bound[length] = uint32(code) << (16 - length)
		code <<= 1
	}
	return h, nil
}

// Slow finds a code longer than FastBits in the next 16 bits (F.2.2.3, DECODE).
// Length 0 stands for no code.
func (h *Huffman) Slow(next uint32) (length uint, symbol uint) {
	for n := FastBits + 1; n <= 16; n++ {
		if next < h.bound[n] {
			i := h.offset[n] + int(next>>(16-n))
			if i < 0 || i >= len(h.symbols) {
				return 0, 0
			}
			return uint(n), uint(h.symbols[i])
		}
	}
	return 0, 0
}
