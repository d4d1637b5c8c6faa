package jpeg2000

import (
	"math/bits"

	"linerwatch/dicomio/codec"
)

// A quad is four samples, two by two. The bits of a set of them are, from the
// lowest, those of the upper left, lower left, upper right and lower right sample.
// quadCode is what a code word says of a quad.
type quadCode struct {
	length  uint8
	samples uint8 // that are not zero
	offset  bool  // one to the exponent follows
	largest uint8 // samples of the largest exponent, where it is known which
	upper   uint8 // the upper bits of those
}

// quadTable is indexed by context and the next seven bits.
type quadTable [8][128]quadCode

// quadTables are for the first row of quads, and for others.
var quadTables = [2]*quadTable{makeQuadTable(0), makeQuadTable(1)}

func makeQuadTable(k int) *quadTable {
	t := new(quadTable)
	for context, codes := range htCodes[k] {
		for _, c := range codes {
			length, word := int(c>>8&15), int(c&0xFF)
			for i := word; i < 128; i += 1 << length {
				t[context][i] = quadCode{uint8(length), uint8(c >> 12 & 15), c>>16&1 == 1, uint8(c >> 20 & 15), uint8(c >> 24 & 15)}
			}
		}
	}
	return t
}

// quadState is what later quads want to know of one.
type quadState struct {
	samples  uint8
	exponent [2]uint8 // of the lower left and lower right sample
}

// htDecoder decodes high-throughput code-blocks (T.814 clause 7).
type htDecoder struct {
	values forwardBits
	codes  backwardBits
	runs   runs
	above  []quadState // the row of quads above, with one more on either side
	row    []quadState
	marks  []uint8 // see refine
}

// decodeHT leaves a high-throughput code-block's coefficients in d.data, as decode
// does.
func (d *blockDecoder) decodeHT(b *codeBlock, width, height int, modes mode) error {
	d.width, d.height = width, height
	d.data = zeroed(d.data, width*height)
	if len(b.segments) == 0 || len(b.segments[0].data) == 0 {
		return nil
	}
	plane := int(b.planes) - 1
	if err := d.ht.start(b.segments[0].data); err != nil {
		return err
	}
	if err := d.quads(plane); err != nil {
		return err
	}
	if len(b.segments) > 1 {
		if plane == 0 {
			return codec.Malformed("codec.fast-refined", "a code-block refined below its last bit-plane")
		}
		d.refine(b.segments[1], plane, modes&verticalCausal != 0)
	}
	for i, v := range d.data { // so far the sign has been the highest bit
		if v < 0 {
			d.data[i] = -(v & 0x7FFF_FFFF)
		}
	}
	return nil
}

// start finds the three streams in a cleanup pass (T.814 7.1.1).
func (h *htDecoder) start(src []byte) error {
	n := len(src)
	if n < 2 {
		return codec.Malformed("codec.fast-bytes", "code-block of %d bytes", "Bytes", n)
	}
	last := src[n-2]
	suffix := int(src[n-1])<<4 | int(last&15)
	if suffix < 2 || suffix > n {
		return codec.Malformed("codec.fast-codes", "code-block of %d bytes with codes of %d", "Bytes", n, "Codes", suffix)
	}
	h.values = forwardBits{src: src[:n-suffix], after: 0xFF}
	h.codes = backwardBits{src: src[n-suffix : n-2], acc: uint64(last >> 4), n: 4, stuffs: last|15 > 0x8F}
	if last>>4&7 == 7 {
		h.codes.acc, h.codes.n = 7, 3
	}
	// The byte that both streams share ends the runs with ones.
	h.runs = runs{src: append(src[n-suffix:n-2:n-2], last|15, 0xFF)}
	return nil
}

// quads decodes the cleanup pass: rows of quads, two quads at a time.
func (d *blockDecoder) quads(plane int) error {
	h, across := &d.ht, (d.width+1)/2
	h.row = zeroedQuads(h.row, across+2)
	h.above = zeroedQuads(h.above, across+2)
	for y := 0; y < d.height; y += 2 {
		for q := 0; q < across; q += 2 {
			var codes [2]quadCode
			pair := min(2, across-q)
			for i := range pair {
				codes[i] = h.quad(q+i, y == 0)
			}
			offsets := h.offsets(codes[0].offset, codes[1].offset, y == 0)
			for i := range pair {
				if err := d.samples(codes[i], q+i, y, offsets[i], plane); err != nil {
					return err
				}
			}
		}
		h.above, h.row = h.row, h.above
		clear(h.row)
	}
	return nil
}

func zeroedQuads(s []quadState, n int) []quadState {
	if cap(s) < n {
		return make([]quadState, n)
	}
	s = s[:n]
	clear(s)
	return s
}

// quad decodes which samples of quad q of the row are not zero (T.814 7.3.5). Where
// all neighbours are zero a run of such quads comes first.
func (h *htDecoder) quad(q int, first bool) quadCode {
	left := h.row[q].samples
	table := quadTables[1]
	var context uint8
	if first {
		table = quadTables[0]
		context = (left | left>>1) & 1
		context |= left >> 1 & 6
	} else {
		a, b, c := h.above[q].samples, h.above[q+1].samples, h.above[q+2].samples
		context = (a>>3 | b>>1) & 1
		context |= (left>>2 | left>>3) & 1 << 1
		context |= (b>>3 | c>>1) & 1 << 2
	}
	if context == 0 && !h.runs.event() {
		return quadCode{}
	}
	code := table[context][h.codes.peek()&127]
	h.codes.skip(int(code.length))
	h.row[q+1].samples = code.samples
	return code
}

// offsets decodes what is added to the exponents of a pair of quads (T.814 7.3.6):
// prefixes, suffixes and extensions come in turn. In the first row, where both have
// one, an event tells that both are above two; else the second has one bit only
// where the first is above two.
func (h *htDecoder) offsets(one, two, first bool) (u [2]int) {
	var prefix, suffix [2]int
	base, both := 0, one && two && first
	if both && h.runs.event() {
		base, both = 2, false
	}
	if one {
		prefix[0] = h.prefix()
	}
	if both && prefix[0] > 2 {
		u[1], two = 1+int(h.codes.bits(1)), false
	}
	if two {
		prefix[1] = h.prefix()
	}
	for i, p := range prefix {
		switch p {
		case 3:
			suffix[i] = int(h.codes.bits(1))
		case 5:
			suffix[i] = int(h.codes.bits(5))
		}
	}
	for i, p := range prefix {
		if p == 0 {
			continue
		}
		if u[i] = base + p + suffix[i]; suffix[i] >= 28 {
			u[i] += 4 * int(h.codes.bits(4))
		}
	}
	return u
}

// prefix decodes 1, 2, 3 or 5.
func (h *htDecoder) prefix() int {
	switch v := h.codes.peek(); {
	case v&1 != 0:
		h.codes.skip(1)
		return 1
	case v&2 != 0:
		h.codes.skip(2)
		return 2
	case v&4 != 0:
		h.codes.skip(3)
		return 3
	}
	h.codes.skip(3)
	return 5
}

// samples decodes the values of a quad (T.814 7.3.7, 7.3.8): as many bits as the
// exponent, less where a code has told the upper one.
func (d *blockDecoder) samples(c quadCode, q, y, offset, plane int) error {
	h, exponent := &d.ht, 1
	if y > 0 && bits.OnesCount8(c.samples) > 1 {
		a, b := &h.above[q], &h.above[q+1]
		exponent = max(1, int(max(a.exponent[1], b.exponent[0], b.exponent[1], h.above[q+2].exponent[0]))-1)
	}
	if exponent += offset; exponent+plane > maxPlanes {
		return codec.Malformed("codec.fast-value", "code-block with a value beyond %d bits", "Bits", maxPlanes)
	}
	for i := range 4 {
		if c.samples>>i&1 == 0 {
			continue
		}
		n := exponent - int(c.largest>>i&1)
		v := h.values.bits(n) | uint32(c.upper>>i&1)<<n
		if i&1 == 1 {
			h.row[q+1].exponent[i>>1] = uint8(bits.Len32(v | 1))
		}
		if x, y := 2*q+i>>1, y+i&1; x < d.width && y < d.height {
			d.data[y*d.width+x] = int32((v|1+2)<<plane | v<<31)
		}
	}
	return nil
}
