// Package codectest makes invented films, wraps them as DICOM files for the
// compressors of dcmtk and gdcm, and takes the compressed pixels out again. Only
// tests use it.
package codectest

import "math"

// Film is a made-up radiograph of the given precision: a bright disc with a
// soft edge on a slope, grain of about 1 % of the range, a collimated corner of
// constant value, and a first pixel of zero. The same arguments give the same film.
func Film(rows, columns, bits int) []uint16 {
	top := float64(int(1)<<bits - 1)
	pix := make([]uint16, rows*columns)
	seed := uint64(rows)<<32 ^ uint64(columns)<<16 ^ uint64(bits)
	radius := 0.3 * float64(min(rows, columns)+1)
	for y := range rows {
		for x := range columns {
			seed = seed*6364136223846793005 + 1442695040888963407
			grain := float64(int64(seed)>>40) / (1 << 23) * 0.01
			dx, dy := float64(x)-0.5*float64(columns), float64(y)-0.5*float64(rows)
			edge := 0.35 / (1 + math.Exp((math.Hypot(dx, dy)-radius)/1.5))
			v := 0.2 + 0.3*float64(x)/float64(columns) + 0.1*float64(y)/float64(rows) + edge + grain
			if x > columns*7/8 && y > rows*7/8 {
				v = 0.03
			}
			pix[y*columns+x] = uint16(math.Round(max(0, min(v, 1)) * top))
		}
	}
	pix[0] = 0
	return pix
}

// Noise is a film of evenly distributed values over the whole range: the worst case.
func Noise(rows, columns, bits int) []uint16 {
	pix := make([]uint16, rows*columns)
	seed := uint64(bits + 1)
	for i := range pix {
		seed = seed*6364136223846793005 + 1442695040888963407
		pix[i] = uint16(seed>>48) >> (16 - bits)
	}
	pix[0] = 0
	return pix
}
