package lossless_test

import "math/bits"

// encoding chooses what encode writes.
type encoding struct {
	rows, columns, bits int
	predictor, shift    int
	restart             int // rows between restart markers, 0 for none
}

// encode is a plain encoder after T.81 Annex H for what the tools do not write.
// Every category of difference has a code of five bits, its own number.
func encode(pix []uint16, e encoding) []byte {
	out := []byte{0xFF, 0xD8, 0xFF, 0xC4, 0, 36, 0x00, 0, 0, 0, 0, 17, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}
	for category := range 17 {
		out = append(out, byte(category))
	}
	out = append(out, 0xFF, 0xC3, 0, 11, byte(e.bits), byte(e.rows>>8), byte(e.rows), byte(e.columns>>8), byte(e.columns), 1, 1, 0x11, 0)
	if e.restart > 0 {
		n := e.restart * e.columns
		out = append(out, 0xFF, 0xDD, 0, 4, byte(n>>8), byte(n))
	}
	out = append(out, 0xFF, 0xDA, 0, 8, 1, 1, 0x00, byte(e.predictor), 0, byte(e.shift))

	var acc, n uint64
	put := func(v, width uint64) {
		acc, n = acc<<width|v&(1<<width-1), n+width
		for ; n >= 8; n -= 8 {
			b := byte(acc >> (n - 8))
			if out = append(out, b); b == 0xFF {
				out = append(out, 0)
			}
		}
	}
	flush := func() {
		if n > 0 {
			put(0xFF, 8-n)
		}
	}
	markers, first := 0, true
	for y := range e.rows {
		if e.restart > 0 && y > 0 && y%e.restart == 0 {
			flush()
			out = append(out, 0xFF, byte(0xD0+markers%8))
			markers, first = markers+1, true
		}
		for x := range e.columns {
			at := func(dx, dy int) int { return int(pix[(y-dy)*e.columns+x-dx]) >> e.shift }
			var guess int
			switch {
			case first && x == 0:
				guess = 1 << (e.bits - e.shift - 1)
			case first:
				guess = at(1, 0)
			case x == 0:
				guess = at(0, 1)
			default:
				a, b, c := at(1, 0), at(0, 1), at(1, 1)
				guess = [...]int{0, a, b, c, a + b - c, a + (b-c)>>1, b + (a-c)>>1, (a + b) >> 1}[e.predictor]
			}
			diff := int(int16(uint16(at(0, 0) - guess)))
			if diff == -32768 {
				put(16, 5)
				continue
			}
			category := bits.Len(uint(max(diff, -diff)))
			if diff < 0 {
				diff += 1<<category - 1
			}
			put(uint64(category), 5)
			put(uint64(diff), uint64(category))
		}
		first = false
	}
	flush()
	return append(out, 0xFF, 0xD9)
}
