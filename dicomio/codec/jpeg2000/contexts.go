package jpeg2000

// Tables from the neighbourhood of a coefficient to its context. A neighbourhood
// is nine bits, row by row from the north-west, the coefficient itself being bit 4.
const (
	neighbours = 0b111_101_111
	bitN       = 1 << 1
	bitW       = 1 << 3
	bitE       = 1 << 5
	bitS       = 1 << 7
)

// zeroContexts are the contexts of zero coding for each orientation of band (Table D.1).
var zeroContexts = makeZeroContexts()

// signContexts are the contexts of sign coding with, in bit 7, the flip of the
// sign (Tables D.2 and D.3). The index has the significance of the neighbours N,
// W, E, S in its even bits and their signs in its odd bits.
var signContexts = makeSignContexts()

// refineContexts are those of magnitude refinement, after contextRefine: by whether a
// coefficient has been refined before, bit 1, and has significant neighbours (Table D.4).
var refineContexts = [4]uint8{0, 1, 2, 2}

func makeZeroContexts() (tables [4][512]uint8) {
	for f := range 512 {
		count := func(masks ...int) (n int) {
			for _, m := range masks {
				if f&m != 0 {
					n++
				}
			}
			return n
		}
		h, v, d := count(bitW, bitE), count(bitN, bitS), count(1, 1<<2, 1<<6, 1<<8)
		tables[0][f], tables[2][f] = zeroContext(h, v, d), zeroContext(h, v, d)
		tables[1][f] = zeroContext(v, h, d)
		tables[3][f] = diagonalContext(h+v, d)
	}
	return tables
}

// zeroContext is Table D.1 for LL and LH bands, and for HL with h and v exchanged.
func zeroContext(h, v, d int) uint8 {
	switch {
	case h == 2:
		return 8
	case h == 1 && v >= 1:
		return 7
	case h == 1 && d >= 1:
		return 6
	case h == 1:
		return 5
	case v == 2:
		return 4
	case v == 1:
		return 3
	}
	return uint8(min(d, 2))
}

// diagonalContext is Table D.1 for HH bands.
func diagonalContext(hv, d int) uint8 {
	switch {
	case d >= 3:
		return 8
	case d == 2:
		return uint8(6 + min(hv, 1))
	case d == 1:
		return uint8(3 + min(hv, 2))
	}
	return uint8(min(hv, 2))
}

func makeSignContexts() (table [256]uint8) {
	for f := range table {
		contribution := func(first, second int) int {
			sum := 0
			for _, shift := range []int{first, second} {
				if f>>shift&1 != 0 {
					sum += 1 - 2*(f>>(shift+1)&1)
				}
			}
			return max(-1, min(sum, 1))
		}
		v, h := contribution(0, 6), contribution(2, 4)
		flip := uint8(0)
		if h < 0 || h == 0 && v < 0 {
			h, v, flip = -h, -v, 0x80
		}
		offset := v // of the context with h = 0
		if h == 1 {
			offset = 3 + v
		}
		table[f] = contextSign + uint8(offset) | flip
	}
	return table
}
