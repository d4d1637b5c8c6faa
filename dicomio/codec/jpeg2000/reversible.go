package jpeg2000

// reversible is the 5/3 transform (F.3.8.2).
var reversible = transform[int32]{
	steps: 2,
	lift: func(step int, to, above, below []int32) {
		above, below = above[:len(to)], below[:len(to)]
		if step == 1 {
			for k := range to {
				to[k] -= (above[k] + below[k] + 2) >> 2
			}
			return
		}
		for k := range to {
			to[k] += (above[k] + below[k]) >> 1
		}
	},
	across:    lift53,
	halveOdd:  halveInts,
	halveOddX: func(v int32) int32 { return v / 2 },
}

func halveInts(row []int32) {
	for k := range row {
		row[k] /= 2
	}
}

// lift53 undoes the transform along a row of two samples or more, the low-pass
// ones standing at parity, parity+2 and so on.
func lift53(row []int32, parity int) {
	n := len(row)
	if parity == 1 { // the first sample is high-pass
		previous := row[0] // high-pass, not lifted
		for i := 1; i < n; i += 2 {
			next := previous
			if i+1 < n {
				next = row[i+1]
			}
			row[i] -= (previous + next + 2) >> 2
			low := row[i]
			if i == 1 {
				row[0] += low
			} else {
				row[i-1] += (row[i-2] + low) >> 1
			}
			previous = next
		}
		if n&1 == 1 {
			row[n-1] += row[n-2]
		}
		return
	}
	row[0] -= (2*row[1] + 2) >> 2
	for i := 2; i < n; i += 2 {
		next := row[i-1]
		if i+1 < n {
			next = row[i+1]
		}
		low := row[i] - (row[i-1]+next+2)>>2
		row[i] = low
		row[i-1] += (row[i-2] + low) >> 1
	}
	if n&1 == 0 {
		row[n-1] += row[n-2]
	}
}
