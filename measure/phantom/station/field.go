package station

import "math"

// field is a picture of numbers.
type field struct {
	w, h int
	v    []float32
}

func (f field) row(y int) []float32 { return f.v[y*f.w : (y+1)*f.w] }

func (f field) clone() field { return field{f.w, f.h, append([]float32(nil), f.v...)} }

// blur convolves f with a Gaussian of sigma px, edges repeated: exactly up to 4 px,
// by three running means beyond.
func (f field) blur(sigma float64) {
	switch {
	case sigma <= 0.05:
		return
	case sigma > 4:
		// Three means over 2h+1 have the variance h (h + 1).
		half := max(1, int(math.Round((math.Sqrt(1+4*sigma*sigma)-1)/2)))
		for range 3 {
			f.mean(half)
		}
		return
	}
	half := int(math.Ceil(3 * sigma))
	k := make([]float32, 2*half+1)
	var sum float32
	for i := range k {
		d := float64(i-half) / sigma
		k[i] = float32(math.Exp(-d * d / 2))
		sum += k[i]
	}
	for i := range k {
		k[i] /= sum
	}
	f.convolve(k)
}

// convolve convolves f with k along both axes, edges repeated.
func (f field) convolve(k []float32) {
	half := len(k) / 2
	line := make([]float32, f.w+2*half)
	for y := range f.h {
		row := f.row(y)
		for i := range line {
			line[i] = row[min(max(i-half, 0), f.w-1)]
		}
		clear(row)
		for i, g := range k {
			for x, v := range line[i : i+f.w] {
				row[x] += g * v
			}
		}
	}
	// Down the columns, a ring of rows being kept as they were.
	was := make([][]float32, f.h)
	from := append([]float32(nil), f.v...)
	for y := range was {
		was[y] = from[y*f.w : (y+1)*f.w]
	}
	for y := range f.h {
		row := f.row(y)
		clear(row)
		for i, g := range k {
			for x, v := range was[min(max(y+i-half, 0), f.h-1)] {
				row[x] += g * v
			}
		}
	}
}

// mean averages f over squares of 2 half + 1, edges repeated.
func (f field) mean(half int) {
	n := float32(2*half + 1)
	line := make([]float32, max(f.w, f.h))
	for y := range f.h {
		row := f.row(y)
		copy(line, row)
		var sum float64
		for i := -half; i <= half; i++ {
			sum += float64(line[min(max(i, 0), f.w-1)])
		}
		for x := range row {
			row[x] = float32(sum) / n
			sum += float64(line[min(x+half+1, f.w-1)]) - float64(line[max(x-half, 0)])
		}
	}
	from := append([]float32(nil), f.v...)
	sums := make([]float64, f.w)
	row := func(y int) []float32 { y = min(max(y, 0), f.h-1); return from[y*f.w : (y+1)*f.w] }
	for y := -half; y <= half; y++ {
		for x, v := range row(y) {
			sums[x] += float64(v)
		}
	}
	for y := range f.h {
		in, out, to := row(y+half+1), row(y-half), f.row(y)
		for x := range sums {
			to[x] = float32(sums[x]) / n
			sums[x] += float64(in[x]) - float64(out[x])
		}
	}
}

// halved returns every second pixel of f after the filter of Burt and Adelson.
func (f field) halved() field {
	g := f.clone()
	g.convolve([]float32{0.0625, 0.25, 0.375, 0.25, 0.0625})
	out := field{(f.w + 1) / 2, (f.h + 1) / 2, nil}
	out.v = make([]float32, out.w*out.h)
	for y := range out.h {
		src, dst := g.row(2*y), out.row(y)
		for x := range dst {
			dst[x] = src[2*x]
		}
	}
	return out
}

// doubled returns f enlarged to w by h, linearly between its pixels.
func (f field) doubled(w, h int) field {
	out := field{w, h, make([]float32, w*h)}
	for y := range h {
		a, b := f.row(min(y/2, f.h-1)), f.row(min(y/2+y%2, f.h-1))
		dst := out.row(y)
		for x := range dst {
			i, j := min(x/2, f.w-1), min(x/2+x%2, f.w-1)
			dst[x] = (a[i] + a[j] + b[i] + b[j]) / 4
		}
	}
	return out
}

// quantile returns the values below which shares of f lie.
func (f field) quantiles(shares ...float64) []float64 {
	lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
	for _, v := range f.v {
		lo, hi = min(lo, v), max(hi, v)
	}
	const cells = 4096
	var count [cells + 1]int
	scale := float32(0)
	if hi > lo {
		scale = cells / (hi - lo)
	}
	for _, v := range f.v {
		count[int((v-lo)*scale)]++
	}
	out := make([]float64, len(shares))
	for i, s := range shares {
		want, sum := int(s*float64(len(f.v))), 0
		for c, n := range count {
			if sum += n; sum > want {
				out[i] = float64(lo) + (float64(c)+0.5)*float64(hi-lo)/cells
				break
			}
		}
		if want >= len(f.v) {
			out[i] = float64(hi)
		}
	}
	return out
}
