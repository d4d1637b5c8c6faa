package jpeg

// block holds coefficients and, after inverse, samples without level shift, row by row.
type block [blockSize]int32

// Rotation constants of the Loeffler, Ligtenberg and Moschytz transform, scaled
// by 2^13. With c(k) = cos(k pi/16) and s(k) = sin(k pi/16), each times sqrt 2:
const (
	constBits = 13

	rotate6c  = 4433   // c6
	rotate6cs = 6270   // c2 - c6
	rotate6sc = 15137  // c2 + c6
	odd1      = 2446   // -c1 + c3 + c5 - c7
	odd3      = 16819  // c1 + c3 - c5 + c7
	odd5      = 25172  // c1 + c3 + c5 - c7
	odd7      = 12299  // c1 + c3 - c5 - c7
	cross17   = -7373  // c7 - c3
	cross35   = -20995 // -c1 - c3
	cross37   = -16069 // -c3 - c5
	cross15   = -3196  // c5 - c3
	crossAll  = 9633   // c3
)

// inverse is the two-dimensional inverse DCT (A.3.3), columns first. Between
// the passes two more bits are kept for 8-bit samples and one for 12-bit ones.
func (b *block) inverse(precision int) {
	guard := uint(2)
	if precision == 12 {
		guard = 1
	}
	for x := range side {
		column := (*[blockSize - side + 1]int32)(b[x:])
		if column[8]|column[16]|column[24]|column[32]|column[40]|column[48]|column[56] == 0 {
			flat := column[0] << guard
			for i := 0; i < len(column); i += side {
				column[i] = flat
			}
			continue
		}
		column[0], column[8], column[16], column[24], column[32], column[40], column[48], column[56] = inverse8(
			column[0], column[8], column[16], column[24], column[32], column[40], column[48], column[56], constBits-guard)
	}
	for y := 0; y < blockSize; y += side {
		row := (*[side]int32)(b[y:])
		row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7] = inverse8(
			row[0], row[1], row[2], row[3], row[4], row[5], row[6], row[7], constBits+guard+3) // 3 bits for the factor 1/8 of both passes
	}
}

// inverse8 transforms eight values and scales them down by 2^shift with rounding. They
// come and go in registers.
func inverse8(v0, v1, v2, v3, v4, v5, v6, v7 int32, shift uint) (_, _, _, _, _, _, _, _ int32) {

	// Even part: a butterfly of 0 and 4, a rotation of 2 and 6.
	turn := (int64(v2) + int64(v6)) * rotate6c
	low, high := turn-int64(v6)*rotate6sc, turn+int64(v2)*rotate6cs
	sum, difference := (int64(v0)+int64(v4))<<constBits, (int64(v0)-int64(v4))<<constBits
	e0, e1, e2, e3 := sum+high, difference+low, difference-low, sum-high

	// Odd part: four values and what they share in pairs.
	all := (int64(v7) + int64(v3) + int64(v5) + int64(v1)) * crossAll
	p17, p35 := (int64(v7)+int64(v1))*cross17, (int64(v5)+int64(v3))*cross35
	p37, p15 := (int64(v7)+int64(v3))*cross37+all, (int64(v5)+int64(v1))*cross15+all
	o3 := int64(v7)*odd1 + p17 + p37
	o2 := int64(v5)*odd3 + p35 + p15
	o1 := int64(v3)*odd5 + p35 + p37
	o0 := int64(v1)*odd7 + p17 + p15

	half := int64(1) << (shift&31 - 1)
	down := func(value int64) int32 { return int32((value + half) >> (shift & 31)) }
	return down(e0 + o0), down(e1 + o1), down(e2 + o2), down(e3 + o3),
		down(e3 - o3), down(e2 - o2), down(e1 - o1), down(e0 - o0)
}
