package jpegls

import (
	"math/bits"

	"linerwatch/dicomio/codec"
)

// context gathers the statistics of errors in like surroundings (A.2.2).
type context struct{ a, b, c, n int32 }

// decoder reads the one scan of an image. acc holds the bits at hand, their
// number being have.
type decoder struct {
	params
	bits    bitReader
	acc     uint64
	have    uint
	regions []int8       // of gradients, from params.quantizer
	regular [365]context // 0 is not used
	runs    [2]context
	runIdx  int // RUNindex
}

func newDecoder(src []byte, p params) *decoder {
	d := &decoder{params: p, bits: bitReader{src: src}, regions: p.quantizer()}
	start := context{a: max(2, (p.span+32)/64), n: 1}
	for i := range d.regular {
		d.regular[i] = start
	}
	d.runs = [2]context{start, start}
	return d
}

// scan fills pix and returns the number of bytes used.
func (d *decoder) scan(pix []uint16, columns int) (int, error) {
	above, corner := make([]uint16, columns), int32(0)
	for at := 0; at < len(pix); at += columns {
		row := pix[at : at+columns]
		if err := d.line(row, above, corner); err != nil {
			return 0, err
		}
		if d.bits.overrun(d.have) {
			return 0, cut()
		}
		corner, above = int32(above[0]), row
	}
	return d.bits.close(d.have)
}

// line decodes a row (A.3 to A.7). corner is Rc of its first sample, the edge
// rule of A.2.1: what stood above the first sample of the row above.
func (d *decoder) line(row, above []uint16, corner int32) error {
	left, err := int32(above[0]), error(nil)
	for x := 0; x < len(row); {
		if x > 0 {
			left, corner = int32(row[x-1]), int32(above[x-1])
		}
		if x, err = d.gradients(row, above, x, left, corner); err != nil || x == len(row) {
			return err
		}
		if x > 0 {
			left = int32(row[x-1])
		}
		if x, err = d.run(row, above, x, left); err != nil {
			return err
		}
	}
	return nil
}

// gradients decodes samples from column x on, with ra and rc before it, up to one
// whose surroundings are flat, and returns the column of that (A.3 to A.6).
func (d *decoder) gradients(row, above []uint16, x int, ra, rc int32) (int, error) {
	acc, have := d.acc, d.have
	regions, zero := d.regions, d.maxval
	rb := int32(above[x])
	q2 := int32(regions[rb-rc+zero])
	for ; x < len(row); x++ {
		rd := rb
		if x+1 < len(above) {
			rd = int32(above[x+1])
		}
		q1 := int32(regions[rd-rb+zero])
		q := 81*q1 + 9*q2 + int32(regions[rc-ra+zero])
		if q == 0 {
			break
		}
		sign := q >> 31 // 0 or -1
		cx := &d.regular[(q^sign)-sign]

		// Prediction from the edges, corrected (A.4.1, A.4.2).
		guess := max(min(ra, rb), min(ra+rb-rc, max(ra, rb)))
		guess = max(0, min(guess+(cx.c^sign)-sign, d.maxval))

		// The mapped error in a Golomb code of order k (A.5).
		k := cx.order()
		if have < 32 {
			acc, have = d.bits.fill(acc, have)
		}
		var mapped int32
		if zeros := uint(bits.LeadingZeros64(acc)); zeros+1+k <= have && int32(zeros) < d.limit-d.qbpp-1 {
			acc <<= zeros + 1
			mapped = int32(zeros)<<k | int32(acc>>(64-k))
			acc <<= k
			have -= zeros + 1 + k
		} else {
			d.acc, d.have = acc, have
			mapped = d.golomb(k, d.limit)
			acc, have = d.acc, d.have
		}
		if mapped > d.span {
			return 0, codec.Malformed("codec.prediction", "prediction error beyond the range")
		}
		e := cx.unmapped(mapped, k == 0 && d.near == 0)
		step := e
		if d.near > 0 {
			step *= 2*d.near + 1
		}
		cx.update(e, step, d.reset)
		v := guess + (step ^ sign) - sign
		if uint32(v) > uint32(d.maxval) {
			v = d.wrap(v)
		}
		row[x] = uint16(v)
		ra, rc, rb, q2 = v, rb, rd, q1
	}
	d.acc, d.have = acc, have
	return x, nil
}

// unmapped turns a mapped error back into one with a sign (A.5.2). turned says
// that the signs change places where the errors so far have been negative.
func (c *context) unmapped(mapped int32, turned bool) int32 {
	e := mapped>>1 ^ -(mapped & 1)
	if turned && 2*c.b <= -c.n {
		e = ^e
	}
	return e
}

// order is the Golomb order k: the least with N 2^k >= A (A.5.1).
func (c *context) order() uint {
	k := max(0, bits.Len32(uint32(c.a))-bits.Len32(uint32(c.n)))
	if c.n<<k < c.a {
		k++
	}
	return uint(k)
}

// update learns from an error and its multiple by 2 NEAR + 1 (A.6).
func (c *context) update(e, step, reset int32) {
	a, b, n := c.a+max(e, -e), c.b+step, c.n
	if n == reset {
		a >>= 1
		b >>= 1
		n >>= 1
	}
	n++
	switch {
	case b <= -n:
		c.c = max(-128, c.c-1)
		b = max(b+n, 1-n)
	case b > 0:
		c.c = min(127, c.c+1)
		b = min(b-n, 0)
	}
	c.a, c.b, c.n = a, b, n
}

// wrap brings a reconstructed value back by the modulus of the coding and
// clips it (A.4.5, A.8 for near-lossless).
func (p *params) wrap(v int32) int32 {
	modulus := p.span * (2*p.near + 1)
	if v < -p.near {
		v += modulus
	} else if v > p.maxval+p.near {
		v -= modulus
	}
	return max(0, min(v, p.maxval))
}

// golomb reads a limited-length Golomb code (A.5.3) of any length the standard
// allows; too many zeros give a value beyond every range.
func (d *decoder) golomb(k uint, limit int32) int32 {
	const invalid = 1 << 30
	zeros := int32(0)
	for d.read(1) == 0 {
		if zeros++; zeros >= limit-d.qbpp {
			return invalid
		}
	}
	if zeros == limit-d.qbpp-1 {
		return d.read(uint(d.qbpp)) + 1
	}
	return zeros<<k | d.read(k)
}

// read takes up to 32 bits.
func (d *decoder) read(n uint) int32 {
	if d.have < n {
		d.acc, d.have = d.bits.fill(d.acc, d.have)
	}
	v := d.acc >> (64 - n)
	d.acc <<= n
	d.have -= n
	return int32(v)
}
