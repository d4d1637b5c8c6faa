package jpegls

import (
	"encoding/binary"
	"math/bits"

	"linerwatch/dicomio/codec"
)

// preset holds the coding parameters of an LSE segment (T.87 C.2.4.1.1); zero
// stands for the default.
type preset struct{ maxval, t1, t2, t3, reset int32 }

// readPreset reads an LSE segment.
func readPreset(body []byte) (preset, error) {
	if len(body) == 0 {
		return preset{}, codec.Malformed("codec.preset-cut", "preset parameters are cut")
	}
	switch id := body[0]; {
	case id == 2 || id == 3:
		return preset{}, codec.Unsupported("codec.mapping", "mapping table")
	case id == 4:
		return preset{}, codec.Unsupported("codec.oversize", "oversize dimensions")
	case id != 1:
		return preset{}, codec.Unsupported("codec.preset-type", "preset parameters of type %d", "Type", id)
	case len(body) != 11:
		return preset{}, codec.Malformed("codec.preset-bytes", "preset parameters of %d bytes", "Bytes", len(body))
	}
	at := func(i int) int32 { return int32(binary.BigEndian.Uint16(body[i:])) }
	return preset{at(1), at(3), at(5), at(7), at(9)}, nil
}

// params are the numbers that govern a scan (A.1, A.2.1).
type params struct {
	near       int32
	maxval     int32
	t1, t2, t3 int32 // gradient thresholds
	reset      int32
	span       int32 // RANGE: number of quantized errors
	qbpp       int32 // bits of a quantized error
	limit      int32 // longest code
}

// complete puts in the defaults of C.2.4.1.1.1 and checks the bounds of Table C.2.
func (s preset) complete(precision, near int) (params, error) {
	p := params{near: int32(near), maxval: int32(1)<<precision - 1, reset: 64}
	if s.maxval > p.maxval {
		return params{}, codec.Malformed("codec.largest", "largest sample %d in %d bits", "Sample", s.maxval, "Bits", precision)
	}
	if s.maxval > 0 {
		p.maxval = s.maxval
	}
	if p.near > min(255, p.maxval/2) {
		return params{}, codec.Malformed("codec.near", "near-lossless bound of %d for samples to %d", "Near", near, "Most", p.maxval)
	}
	p.t1, p.t2, p.t3 = thresholds(p.maxval, p.near)
	replace(&p.t1, s.t1)
	replace(&p.t2, s.t2)
	replace(&p.t3, s.t3)
	replace(&p.reset, s.reset)
	if p.t1 <= p.near || p.t2 < p.t1 || p.t3 < p.t2 || p.t3 > p.maxval || p.reset < 3 || p.reset > max(255, p.maxval) {
		return params{}, codec.Malformed("codec.thresholds", "thresholds %d, %d, %d and reset %d", "One", p.t1, "Two", p.t2, "Three", p.t3, "Reset", p.reset)
	}
	p.span = (p.maxval+2*p.near)/(2*p.near+1) + 1
	p.qbpp = logCeil(p.span)
	bpp := max(2, logCeil(p.maxval+1))
	p.limit = 2 * (bpp + max(8, bpp))
	return p, nil
}

func replace(value *int32, given int32) {
	if given > 0 {
		*value = given
	}
}

// logCeil is the smallest n with 2^n >= v.
func logCeil(v int32) int32 { return int32(bits.Len32(uint32(v - 1))) }

// thresholds are the default gradient thresholds.
func thresholds(maxval, near int32) (t1, t2, t3 int32) {
	const basic1, basic2, basic3 = 3, 7, 21
	clamp := func(v, low int32) int32 {
		if v > maxval || v < low {
			return low
		}
		return v
	}
	if maxval >= 128 {
		factor := (min(maxval, 4095) + 128) / 256
		t1 = clamp(factor*(basic1-2)+2+3*near, near+1)
		t2 = clamp(factor*(basic2-3)+3+5*near, t1)
		t3 = clamp(factor*(basic3-4)+4+7*near, t2)
		return t1, t2, t3
	}
	factor := 256 / (maxval + 1)
	t1 = clamp(max(2, basic1/factor+3*near), near+1)
	t2 = clamp(max(3, basic2/factor+5*near), t1)
	t3 = clamp(max(4, basic3/factor+7*near), t2)
	return t1, t2, t3
}

// quantizer maps a gradient g to its region, -4 to 4, at index g + maxval (A.3.3).
func (p params) quantizer() []int8 {
	table := make([]int8, 2*p.maxval+1)
	bounds := [...]int32{p.near + 1, p.t1, p.t2, p.t3, p.maxval + 1}
	for region := range int8(4) {
		for g := bounds[region]; g < bounds[region+1]; g++ {
			table[p.maxval+g], table[p.maxval-g] = region+1, -region-1
		}
	}
	return table
}
