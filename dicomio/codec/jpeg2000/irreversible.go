package jpeg2000

// Parameters of the 9/7 transform (Table F.4), in the order in which synthesis
// uses them, with their signs; and the scaling K of the low-pass samples, whose
// inverse scales the high-pass ones.
const (
	lift1 = -0.443506852
	lift2 = -0.882911075
	lift3 = +0.052980118
	lift4 = +1.586134342

	scaleLow  = float32(1.230174105)
	scaleHigh = float32(1.625732422) / 2
)

var lifts = [5]float32{1: lift1, 2: lift2, 3: lift3, 4: lift4}

// irreversible is the 9/7 transform (F.3.8.1). The explicit conversions keep
// processors from fusing the product with the sum.
var irreversible = transform[float32]{
	steps: 4,
	lift: func(step int, to, above, below []float32) {
		c := lifts[step]
		above, below = above[:len(to)], below[:len(to)]
		for k := range to {
			to[k] += float32((above[k] + below[k]) * c)
		}
	},
	scale: func(row []float32, high bool) {
		c := scaleLow
		if high {
			c = scaleHigh
		}
		for k := range row {
			row[k] *= c
		}
	},
	across:    lift97,
	halveOdd:  halveFloats,
	halveOddX: func(v float32) float32 { return v / 2 },
}

func halveFloats(row []float32) {
	for k := range row {
		row[k] /= 2
	}
}

// lift97 undoes the transform along a row of two samples or more, the low-pass
// ones standing at parity, parity+2 and so on.
func lift97(row []float32, parity int) {
	n := len(row)
	for i := parity; i < n; i += 2 {
		row[i] *= scaleLow
	}
	for i := 1 - parity; i < n; i += 2 {
		row[i] *= scaleHigh
	}
	for step := 1; step <= 4; step++ {
		c := lifts[step]
		first := parity
		if step%2 == 0 {
			first = 1 - parity
		}
		i := first
		if i == 0 { // symmetric extension (F.3.7)
			row[0] += float32((row[1] + row[1]) * c)
			i = 2
		}
		for ; i+1 < n; i += 2 {
			row[i] += float32((row[i-1] + row[i+1]) * c)
		}
		if i < n {
			row[i] += float32((row[i-1] + row[i-1]) * c)
		}
	}
}
