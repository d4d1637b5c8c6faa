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
		column := b[x : x+blockSize-side+1]
		if column[8]|column[16]|column[24]|column[32]|column[40]|column[48]|column[56] == 0 {
			flat := column[0] << guard
			for i := 0; i < blockSize; i += side {
				column[i] = flat
			}
			continue
		}
		inverse8(column, side, constBits-guard)
	}
	for y := 0; y < blockSize; y += side {
		inverse8(b[y:y+side], 1, constBits+guard+3) // 3 bits for the factor 1/8 of both passes
	}
}

// inverse8 transforms eight values that lie step apart, and scales them down by
// 2^shift with rounding.
func inverse8(v []int32, step int, shift uint) {
	_ = v[7*step]
	in := func(i int) int64 { return int64(v[i*step]) }

	// Even part: a butterfly of 0 and 4, a rotation of 2 and 6.
	turn := (in(2) + in(6)) * rotate6c
	low, high := turn-in(6)*rotate6sc, turn+in(2)*rotate6cs
	sum, difference := (in(0)+in(4))<<constBits, (in(0)-in(4))<<constBits
	e0, e1, e2, e3 := sum+high, difference+low, difference-low, sum-high

	// Odd part: four values and what they share in pairs.
	all := (in(7) + in(3) + in(5) + in(1)) * crossAll
	p17, p35 := (in(7)+in(1))*cross17, (in(5)+in(3))*cross35
	p37, p15 := (in(7)+in(3))*cross37+all, (in(5)+in(1))*cross15+all
	o3 := in(7)*odd1 + p17 + p37
	o2 := in(5)*odd3 + p35 + p15
	o1 := in(3)*odd5 + p35 + p37
	o0 := in(1)*odd7 + p17 + p15

	half := int64(1) << (shift - 1)
	out := func(i int, value int64) { v[i*step] = int32((value + half) >> shift) }
	out(0, e0+o0)
	out(7, e0-o0)
	out(1, e1+o1)
	out(6, e1-o1)
	out(2, e2+o2)
	out(5, e2-o2)
	out(3, e3+o3)
	out(4, e3-o3)
}
