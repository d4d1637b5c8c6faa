package raster

import (
	"image"
	"math"
	"runtime"
	"sync"
)

// plane is a film as native 16-bit words.
type plane struct {
	w, h int
	pix  []uint16
	of   *image.Gray16 // the film that it holds; nil for none
	turn int           // counts the films held
}

// reset makes room for a film of w by h, reusing memory.
func (p *plane) reset(w, h int) {
	p.w, p.h = w, h
	if n := w * h; cap(p.pix) < n {
		p.pix = make([]uint16, n)
	} else {
		p.pix = p.pix[:n]
	}
	p.turn++
}

// load fills p with img where it holds another film; nil takes nothing in.
func (p *plane) load(img *image.Gray16) {
	if img == p.of {
		return
	}
	p.of = img
	if img == nil {
		p.turn++
		return
	}
	p.reset(img.Rect.Dx(), img.Rect.Dy())
	bands(p.h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			src := img.Pix[y*img.Stride : y*img.Stride+2*p.w]
			dst := p.pix[y*p.w : (y+1)*p.w]
			for x := range dst {
				dst[x] = uint16(src[2*x])<<8 | uint16(src[2*x+1])
			}
		}
	})
}

// view places a film: (x, y) is the film point at the picture's corner, zoom the
// picture's pixels per film pixel.
type view struct{ x, y, zoom float64 }

// bands splits the rows 0 to n over the processors.
func bands(n int, f func(y0, y1 int)) {
	k := min(runtime.GOMAXPROCS(0), n/64)
	if k <= 1 {
		f(0, n)
		return
	}
	bandsBy(n, k, func(_, y0, y1 int) { f(y0, y1) })
}

// bandsBy splits the rows 0 to n into k bands, worked on at once.
func bandsBy(n, k int, f func(i, y0, y1 int)) {
	var wg sync.WaitGroup
	for i := range k {
		wg.Go(func() { f(i, n*i/k, n*(i+1)/k) })
	}
	wg.Wait()
}

// resample fills dst, w by h, with p seen through v. Outside the film it is 0,
// and inside reports which part of dst the film covers.
func resample(dst []uint16, w, h int, p *plane, v view) (inside image.Rectangle) {
	inside = image.Rect(
		int(math.Ceil(-v.x*v.zoom-0.5)), int(math.Ceil(-v.y*v.zoom-0.5)),
		int(math.Ceil((float64(p.w)-v.x)*v.zoom-0.5)), int(math.Ceil((float64(p.h)-v.y)*v.zoom-0.5)),
	).Intersect(image.Rect(0, 0, w, h))
	if inside.Empty() {
		clear(dst[:w*h])
		return image.Rectangle{}
	}
	if v.zoom < 1 {
		area(dst, w, h, p, v, inside)
	} else {
		bilinear(dst, w, h, p, v, inside)
	}
	return inside
}

// one is the unit of the fixed-point weights.
const one = 256

// span is the footprint of one view pixel along an axis: film pixels a to b, the
// first and the last weighted by wa and wb of one, those between by one.
type span struct {
	a, b   int
	wa, wb uint32
	total  uint32 // sum of the weights
}

// footprints returns the spans of view pixels i0 to i1 along an axis of n film
// pixels.
func footprints(i0, i1, n int, origin, zoom float64) []span {
	spans := make([]span, i1-i0)
	for k := range spans {
		lo := int(math.Round((origin + float64(i0+k)/zoom) * one))
		hi := int(math.Round((origin + float64(i0+k+1)/zoom) * one))
		lo, hi = max(lo, 0), min(hi, n*one)
		hi = max(hi, lo+1)
		s := span{a: min(lo/one, n-1), b: min((hi-1)/one, n-1), total: uint32(hi - lo)}
		if s.a == s.b {
			s.wa = s.total
		} else {
			s.wa, s.wb = uint32((s.a+1)*one-lo), uint32(hi-s.b*one)
		}
		spans[k] = s
	}
	return spans
}

// area averages the film over each view pixel's footprint, rows first.
func area(dst []uint16, w, h int, p *plane, v view, in image.Rectangle) {
	xs := footprints(in.Min.X, in.Max.X, p.w, v.x, v.zoom)
	ys := footprints(in.Min.Y, in.Max.Y, p.h, v.y, v.zoom)
	first := xs[0].a
	n := xs[len(xs)-1].b + 1 - first
	bands(h, func(y0, y1 int) {
		sums := make([]uint32, n)
		for y := y0; y < y1; y++ {
			row := dst[y*w : (y+1)*w]
			if y < in.Min.Y || y >= in.Max.Y {
				clear(row)
				continue
			}
			s := ys[y-in.Min.Y]
			sumRows(sums, p, first, s)
			clear(row[:in.Min.X])
			clear(row[in.Max.X:])
			averageColumns(row[in.Min.X:in.Max.X], sums, xs, first, float64(s.total))
		}
	})
}

// sumRows adds up the film's rows of s with their weights.
func sumRows(sums []uint32, p *plane, first int, s span) {
	line := func(y int) []uint16 { return p.pix[y*p.w+first:][:len(sums)] }
	top, end := line(s.a), line(s.b)
	switch s.b - s.a {
	case 0:
		for i := range sums {
			sums[i] = uint32(top[i]) * s.wa
		}
	case 1:
		for i := range sums {
			sums[i] = uint32(top[i])*s.wa + uint32(end[i])*s.wb
		}
	case 2:
		mid := line(s.a + 1)
		for i := range sums {
			sums[i] = uint32(top[i])*s.wa + uint32(mid[i])*one + uint32(end[i])*s.wb
		}
	default:
		m, n := line(s.a+1), line(s.a+2)
		for i := range sums {
			sums[i] = uint32(top[i])*s.wa + (uint32(m[i])+uint32(n[i]))*one + uint32(end[i])*s.wb
		}
		for y := s.a + 3; y < s.b; y++ {
			for i, v := range line(y) {
				sums[i] += uint32(v) * one
			}
		}
	}
}

func averageColumns(row []uint16, sums []uint32, xs []span, first int, rowTotal float64) {
	for i := range row {
		s := &xs[i]
		a, b := s.a-first, s.b-first
		t := uint64(sums[a]) * uint64(s.wa)
		if b > a {
			mid := uint64(0)
			for _, q := range sums[a+1 : b] {
				mid += uint64(q)
			}
			t += mid*one + uint64(sums[b])*uint64(s.wb)
		}
		row[i] = uint16(float64(t)/(rowTotal*float64(s.total)) + 0.5)
	}
}

// tap is one interpolated column: film pixels a and b, b weighted by f of one.
type tap struct {
	a, b int32
	f    uint32
}

// taps returns the interpolation between pixel centres for view pixels i0 to i1.
func taps(i0, i1, n int, origin, zoom float64) []tap {
	out := make([]tap, i1-i0)
	for k := range out {
		u := origin + (float64(i0+k)+0.5)/zoom - 0.5
		lo := math.Floor(u)
		a, b := int(lo), int(lo)+1
		out[k] = tap{int32(min(max(a, 0), n-1)), int32(min(max(b, 0), n-1)), uint32((u - lo) * one)}
	}
	return out
}

// bilinear interpolates between the centres of film pixels: rows first, so that a
// magnified film pixel is blended once.
func bilinear(dst []uint16, w, h int, p *plane, v view, in image.Rectangle) {
	xs := taps(in.Min.X, in.Max.X, p.w, v.x, v.zoom)
	ys := taps(in.Min.Y, in.Max.Y, p.h, v.y, v.zoom)
	first := xs[0].a
	n := int(xs[len(xs)-1].b-first) + 1
	for i := range xs {
		xs[i].a, xs[i].b = xs[i].a-first, xs[i].b-first
	}
	bands(h, func(y0, y1 int) {
		mixed := make([]uint32, n)
		for y := y0; y < y1; y++ {
			row := dst[y*w : (y+1)*w]
			if y < in.Min.Y || y >= in.Max.Y {
				clear(row)
				continue
			}
			clear(row[:in.Min.X])
			clear(row[in.Max.X:])
			t := ys[y-in.Min.Y]
			up := p.pix[int(t.a)*p.w+int(first):][:len(mixed)]
			down := p.pix[int(t.b)*p.w+int(first):][:len(mixed)]
			for i := range mixed {
				mixed[i] = uint32(up[i])*(one-t.f) + uint32(down[i])*t.f
			}
			out := row[in.Min.X:in.Max.X]
			for i, x := range xs[:len(out)] {
				out[i] = uint16((mixed[x.a]*(one-x.f) + mixed[x.b]*x.f + 1<<15) >> 16)
			}
		}
	})
}
