package jpeg2000

import "math/bits"

// A stripe of four coefficients of a column has one word of flags (D.1 for what
// they mean):
//
//	bits  0-17  significance, six rows of three columns around the stripe
//	bits 18-23  signs of the middle column, from the row above to the row below
//	bits 24-27  coded in the significance pass of this bit-plane
//	bits 28-31  refined before
//
// Row i of the stripe has its neighbourhood in bits 3i to 3i+8.
const (
	stripeRows   = 4
	flagsAround  = 1<<18 - 1
	shiftSign    = 18
	shiftVisited = 24
	shiftRefined = 28
	flagsVisited = 15 << shiftVisited
)

// blockDecoder decodes code-blocks (Annex D). It is used again for the next one.
type blockDecoder struct {
	mqDecoder
	ht            htDecoder
	raw           rawBits
	inRaw         bool
	causal        bool
	width, height int
	stride        int              // words of flags for a row of stripes
	flags         []uint32         // with one word around on every side
	data          []int32          // sign and twice the magnitude, with the middle of what is unknown
	aside         []int32          // the same of a region of interest, while the rest is decoded
	symbols       [maxBlock]uint8  // of a refinement pass: contexts, then bits
	places        [maxBlock]uint16 // and what they refine
}

// decode leaves a code-block's coefficients in d.data, width x height of them.
// Coefficients with a bit above the lowest region bit-planes are of a region of
// interest, shifted up by so many planes (H.1), and have no other bits.
func (d *blockDecoder) decode(b *codeBlock, orientation, width, height int, modes mode, region int) error {
	if modes&highThroughput != 0 {
		return d.decodeHT(b, width, height, modes)
	}
	d.width, d.height, d.stride = width, height, width+2
	d.flags = zeroed(d.flags, d.stride*((height+stripeRows-1)/stripeRows+2))
	d.data = zeroed(d.data, width*height)
	d.causal = modes&verticalCausal != 0
	d.resetContexts()
	zero := &zeroContexts[orientation]
	plane, kind := int(b.planes), 2 // the first plane has a cleanup pass only
	for i := range b.segments {
		s := &b.segments[i]
		d.inRaw = modes&bypass != 0 && plane <= int(b.planes)-4 && kind < 2
		if d.inRaw {
			d.raw = rawBits{src: s.data}
		} else {
			d.start(s.data)
		}
		for range s.passes {
			one := int32(1) << plane
			if plane > region {
				one = 1 << (plane - region)
			}
			switch kind {
			case 0:
				d.significancePass(one, zero)
			case 1:
				if d.inRaw {
					d.refineRaw(one)
				} else {
					d.refinementPass(one)
				}
			default:
				d.cleanupPass(one, zero)
				if modes&segmentSymbols != 0 { // D.5; a wrong one is not looked at
					for range 4 {
						d.bit(&d.contexts[contextUniform])
					}
				}
			}
			if modes&resetContexts != 0 {
				d.resetContexts()
			}
			if kind++; kind == 3 {
				kind = 0
				if plane--; plane == region && region > 0 {
					d.aside = append(d.aside[:0], d.data...)
					clear(d.data)
				}
			}
		}
	}
	if region > 0 && int(b.planes) > region && plane <= region {
		for i, v := range d.aside {
			if v != 0 {
				d.data[i] = v
			}
		}
	}
	return nil
}

// zeroed is a slice of n zeros, in the memory of s where it is large enough.
func zeroed[T int32 | uint32](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// significancePass codes what is not yet significant but has significant
// neighbours (D.3.1). one is the bit-plane's value, doubled.
func (d *blockDecoder) significancePass(one int32, zero *[512]uint8) {
	for y := 0; y < d.height; y += stripeRows {
		at := (y/stripeRows+1)*d.stride + 1
		inside := uint32(rowsOfStripe) >> max(0, 3*(stripeRows-d.height+y))
		for x := range d.width {
			f := d.flags[at+x]
			for due := beside(f) & inside; due != 0; due &= due - 1 {
				shift := uint(bits.TrailingZeros32(due))
				i := int(shift / 3)
				d.flags[at+x] |= 1 << (shiftVisited + uint(i))
				around := f >> shift & 0x1FF
				if d.inRaw {
					if d.raw.bit() == 0 {
						continue
					}
					d.become(at+x, (y+i)*d.width+x, i, one, d.raw.bit())
				} else {
					if d.bit(&d.contexts[zero[around]]) == 0 {
						continue
					}
					d.become(at+x, (y+i)*d.width+x, i, one, d.sign(at+x, i))
				}
				f = d.flags[at+x]
				due |= beside(f) & inside &^ (1<<shift - 1) // rows below have a neighbour more
			}
		}
	}
}

// rowsOfStripe has the lowest of the nine bits of each row's neighbourhood.
const rowsOfStripe = 1 | 1<<3 | 1<<6 | 1<<9

// beside tells which rows of a stripe are not significant and have significant
// neighbours, in the bits of rowsOfStripe.
func beside(f uint32) uint32 {
	sides := f&flagsAround | f&flagsAround>>2
	any := sides | f&flagsAround>>1
	return (any | sides>>3 | any>>6) &^ (f >> 4) & rowsOfStripe
}

// refinementPass codes a further bit of what was significant before (D.3.3). No symbol
// bears on another's context: all contexts are gathered, then decoded in one go.
func (d *blockDecoder) refinementPass(one int32) {
	n := 0
	for y := 0; y < d.height; y += stripeRows {
		at := (y/stripeRows+1)*d.stride + 1
		flags := d.flags[at : at+d.width]
		for x, f := range flags {
			due := rowsOwn(f) &^ (f >> shiftVisited)
			flags[x] = f | due<<shiftRefined
			for place := y*d.width + x; due != 0; due &= due - 1 {
				i := uint(bits.TrailingZeros32(due))
				seen := f >> (shiftRefined + i) & 1 << 1
				d.symbols[n] = contextRefine + refineContexts[seen|(f>>(3*i)&neighbours+511)>>9]
				d.places[n] = uint16(place + int(i)*d.width)
				n++
			}
		}
	}
	d.symbolsOf(d.symbols[:n])
	for k, place := range d.places[:n] {
		refine(&d.data[place], uint32(d.symbols[k]), one>>1)
	}
}

// refineRaw is refinementPass in a bypass segment (D.6).
func (d *blockDecoder) refineRaw(one int32) {
	for y := 0; y < d.height; y += stripeRows {
		at := (y/stripeRows+1)*d.stride + 1
		flags, data := d.flags[at:at+d.width], d.data[y*d.width:]
		for x, f := range flags {
			due := rowsOwn(f) &^ (f >> shiftVisited)
			flags[x] = f | due<<shiftRefined
			for ; due != 0; due &= due - 1 {
				refine(&data[bits.TrailingZeros32(due)*d.width+x], d.raw.bit(), one>>1)
			}
		}
	}
}

// refine adds a bit to a value whose unknown rest was put at half: 1 moves it up, 0 down.
func refine(v *int32, bit uint32, half int32) {
	change, sign := half*(2*int32(bit)-1), *v>>31
	*v += (change ^ sign) - sign
}

// cleanupPass codes all that is left, and four insignificant coefficients without
// significant neighbours in one symbol (D.3.4).
func (d *blockDecoder) cleanupPass(one int32, zero *[512]uint8) {
	for y := 0; y < d.height; y += stripeRows {
		rows := min(stripeRows, d.height-y)
		at := (y/stripeRows+1)*d.stride + 1
		for x := range d.width {
			f := d.flags[at+x]
			due := (1<<rows - 1) &^ (rowsOwn(f) | f>>shiftVisited)
			if rows == stripeRows && f&(flagsAround|flagsVisited) == 0 {
				if d.bit(&d.contexts[contextRunLength]) == 0 {
					continue
				}
				first := int(d.bit(&d.contexts[contextUniform])<<1 | d.bit(&d.contexts[contextUniform]))
				d.become(at+x, (y+first)*d.width+x, first, one, d.sign(at+x, first))
				f = d.flags[at+x]
				due &= 14 << first // those below
			}
			for ; due != 0; due &= due - 1 {
				i := bits.TrailingZeros32(due)
				if d.bit(&d.contexts[zero[f>>(3*uint(i))&0x1FF]]) == 1 {
					d.become(at+x, (y+i)*d.width+x, i, one, d.sign(at+x, i))
					f = d.flags[at+x]
				}
			}
			d.flags[at+x] = f &^ flagsVisited
		}
	}
}

// rowsOwn tells which rows of a stripe are significant.
func rowsOwn(f uint32) uint32 { return f>>4&1 | f>>6&2 | f>>8&4 | f>>10&8 }

// sign decodes the sign of row i of a stripe (D.3.2): 1 is negative.
func (d *blockDecoder) sign(at, i int) uint32 {
	f, row := d.flags[at], uint(i)
	index := f >> (3*row + 1) & 0b1010101
	index |= f>>(shiftSign+row)&1<<1 | d.flags[at-1]>>(shiftSign+row+1)&1<<3 |
		d.flags[at+1]>>(shiftSign+row+1)&1<<5 | f>>(shiftSign+row+2)&1<<7
	context := signContexts[index]
	return d.bit(&d.contexts[context&0x7F]) ^ uint32(context>>7)
}

// become makes row i of a stripe significant: its value is the middle of the
// bit-plane, and its neighbours come to know.
func (d *blockDecoder) become(at, place, i int, one int32, negative uint32) {
	value := one | one>>1
	if negative == 1 {
		value = -value
	}
	d.data[place] = value
	row := uint(i)
	d.flags[at-1] |= 1 << (3*row + 5)
	d.flags[at] |= 1<<(3*row+4) | negative<<(shiftSign+row+1)
	d.flags[at+1] |= 1 << (3*row + 3)
	switch {
	case i == 0 && !d.causal: // the stripe above, in its row below
		above := at - d.stride
		d.flags[above-1] |= 1 << 17
		d.flags[above] |= 1<<16 | negative<<(shiftSign+5)
		d.flags[above+1] |= 1 << 15
	case i == stripeRows-1: // the stripe below, in its row above
		below := at + d.stride
		d.flags[below-1] |= 1 << 2
		d.flags[below] |= 1<<1 | negative<<shiftSign
		d.flags[below+1] |= 1 << 0
	}
}

// rawBits reads the bits of a bypass segment (D.6), after a byte FF seven to the
// byte, and ones after the end.
type rawBits struct {
	src  []byte
	pos  int
	last byte
	left uint
}

func (r *rawBits) bit() uint32 {
	if r.left == 0 {
		r.left = 8
		if r.last == 0xFF {
			r.left = 7
		}
		r.last = 0xFF
		if r.pos < len(r.src) {
			r.last = r.src[r.pos]
		}
		r.pos++
	}
	r.left--
	return uint32(r.last>>r.left) & 1
}
