package jpegls

import (
	"linerwatch/dicomio/codec"
)

// runOrder is J of A.2.1: the logarithm of the run length that one bit stands for.
var runOrder = [32]uint{
	0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3,
	4, 4, 5, 5, 6, 6, 7, 7, 8, 9, 10, 11, 12, 13, 14, 15,
}

// run decodes a run of ra from column x on and the sample that ends it, and
// returns the column after (A.7).
func (d *decoder) run(row, above []uint16, x int, ra int32) (int, error) {
	for d.read(1) == 1 { // a full stretch
		length := 1 << runOrder[d.runIdx]
		if length <= len(row)-x {
			d.runIdx = min(d.runIdx+1, len(runOrder)-1)
		}
		stretch := row[x:min(x+length, len(row))]
		for i := range stretch {
			stretch[i] = uint16(ra)
		}
		if x += len(stretch); x == len(row) {
			return x, nil
		}
	}
	order := runOrder[d.runIdx]
	length := int(d.read(order))
	if length >= len(row)-x {
		return 0, codec.Malformed("codec.run", "run goes past the end of its row")
	}
	for range length {
		row[x] = uint16(ra)
		x++
	}
	v, err := d.interruption(ra, int32(above[x]), int32(order))
	if err != nil {
		return 0, err
	}
	row[x] = uint16(v)
	d.runIdx = max(d.runIdx-1, 0)
	return x + 1, nil
}

// interruption decodes the sample that ends a run (A.7.2).
func (d *decoder) interruption(ra, rb, order int32) (int32, error) {
	kind, guess, sign := int32(0), rb, int32(1) // RItype
	switch diff := ra - rb; {
	case diff <= d.near && diff >= -d.near:
		kind, guess = 1, ra
	case diff > 0:
		sign = -1
	}
	cx := &d.runs[kind] // b counts the negative errors, Nn
	trial := context{a: cx.a + kind*(cx.n>>1), n: cx.n}
	k := trial.order()
	mapped := d.golomb(k, d.limit-order-1)
	if mapped > d.span {
		return 0, codec.Malformed("codec.prediction", "prediction error beyond the range")
	}
	e := (mapped + kind + 1) >> 1
	odd := (mapped+kind)&1 == 1 // map
	if (k != 0 || 2*cx.b >= cx.n) == odd {
		e = -e
	}
	if e < 0 {
		cx.b++
	}
	cx.a += (mapped + 1 - kind) >> 1
	if cx.n == d.reset {
		cx.a >>= 1
		cx.b >>= 1
		cx.n >>= 1
	}
	cx.n++
	v := guess + sign*e*(2*d.near+1)
	if uint32(v) > uint32(d.maxval) {
		v = d.wrap(v)
	}
	return v, nil
}
