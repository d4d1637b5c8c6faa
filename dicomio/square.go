package dicomio

import (
	"encoding/binary"
	"image"
	"math"
	"slices"
)

const (
	nearSquare = 1e-3 // pixels whose sides differ by less are taken as square
	mostOblong = 4    // times as long as wide; more than that no detector or scanner makes (common practice, no source)
)

// Square returns the film with square pixels, of the smaller of the two
// spacings: the longer side of each pixel is divided by cubic convolution (Keys
// 1981, IEEE Trans. ASSP 29:1153, a = -1/2) of the values in Pixels. A point at x
// of the film is at x times the ratio of the sides in the result; Rows, Columns,
// Geometry and Field fit it. Values next to padding are those of the nearest pixel. A
// film of square pixels is returned as it is. The error is of pixels too oblong to
// be true, or of too many of them.
func (f *Film) Square() (*Film, error) {
	wide, k := f.oblong()
	if k == 1 {
		return f, nil
	}
	if !(k <= mostOblong) {
		return nil, named(f.Path, broken(tooOblong(k)))
	}
	g := *f
	w, h := f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
	axis := 0
	if wide {
		axis = 1
		w = int(math.Round(float64(w) * k))
		g.Field.Left, g.Field.Right = k*f.Field.Left, k*f.Field.Right
	} else {
		h = int(math.Round(float64(h) * k))
		g.Field.Upper, g.Field.Lower = k*f.Field.Upper, k*f.Field.Lower
	}
	if w*h > maxPixels {
		return nil, named(f.Path, unsupported("read.square-large", "%d rows x %d columns of square pixels are more than %d megapixels", "Rows", h, "Columns", w, "Most", maxPixels>>20))
	}
	g.Columns, g.Rows = w, h
	for _, pair := range g.Geometry.pairs() {
		pair[axis] /= k
	}
	g.Pixels = f.stretched(w, h, wide, k)
	g.Warnings = slices.DeleteFunc(slices.Clone(f.Warnings), func(w *Fault) bool { return w.Code == f.aspectWarning().Code })
	return &g, nil
}

// tooOblong is the fault of pixels that many times as long as wide.
func tooOblong(times float64) *Fault {
	return refused("read.oblong", "pixels %.4g times as long as wide, by spacing or aspect ratio, cannot be true", "Times", times)
}

// SquareBy returns how many times the "columns" or "rows" Square makes of the film's: 1
// where it leaves it as it is, 0 where it cannot.
func (f *Film) SquareBy() (times float64, of string) {
	wide, k := f.oblong()
	if !(k <= mostOblong) {
		return 0, ""
	}
	if wide {
		return k, "columns"
	}
	return k, "rows"
}

// oblong tells the longer side of the pixels, and how many times as long as the
// shorter it is: 1 for square pixels.
func (f *Film) oblong() (wide bool, k float64) {
	a := f.Geometry.Aspect()
	switch {
	case math.Abs(a-1) <= nearSquare:
		return false, 1
	case a < 1:
		return true, 1 / a
	}
	return false, a
}

// tap is where a new pixel takes its value from along an axis: four neighbours
// with their weights, and which of them is the nearest.
type tap struct {
	at   [4]int
	w    [4]float64
	near int
}

// taps are those of n new pixels from old ones, k times as many.
func taps(n, old int, k float64) []tap {
	out := make([]tap, n)
	for i := range out {
		x := (float64(i)+0.5)/k - 0.5 // of the pixel's centre, in centres of old ones
		base := math.Floor(x)
		t := x - base
		out[i].w = [4]float64{
			t * (-0.5 + t*(1-0.5*t)),
			1 + t*t*(-2.5+1.5*t),
			t * (0.5 + t*(2-1.5*t)),
			t * t * (-0.5 + 0.5*t),
		}
		for j := range 4 {
			out[i].at[j] = min(max(int(base)-1+j, 0), old-1)
		}
		out[i].near = 1
		if t > 0.5 {
			out[i].near = 2
		}
	}
	return out
}

// stretched is the picture at w x h, k times as many along one axis.
func (f *Film) stretched(w, h int, wide bool, k float64) *image.Gray16 {
	from, out := f.Pixels, image.NewGray16(image.Rect(0, 0, w, h))
	padding := f.isPadding()
	put := func(o int, in []byte, step int, t *tap) {
		var v [4]uint16
		sum, plain := 0.0, false
		for j, at := range t.at {
			v[j] = binary.BigEndian.Uint16(in[at*step:])
			sum += t.w[j] * float64(v[j])
			plain = plain || padding != nil && padding(v[j])
		}
		value := v[t.near]
		if !plain {
			value = uint16(min(max(sum+0.5, 0), float64(mask(f.Bits))))
		}
		binary.BigEndian.PutUint16(out.Pix[o:], value)
	}
	if wide {
		ts := taps(w, from.Rect.Dx(), k)
		for y := range h {
			for x := range ts {
				put(y*out.Stride+2*x, from.Pix[y*from.Stride:], 2, &ts[x])
			}
		}
		return out
	}
	ts := taps(h, from.Rect.Dy(), k)
	for y := range ts {
		for x := range w {
			put(y*out.Stride+2*x, from.Pix[2*x:], from.Stride, &ts[y])
		}
	}
	return out
}

// isPadding tells the values in Pixels that are no picture; nil where none are.
func (f *Film) isPadding() func(v uint16) bool {
	p := f.Greys.Padding
	if p == nil {
		return nil
	}
	flip := f.flip()
	return func(v uint16) bool {
		stored := signed(v^flip, f.Bits, f.Signed)
		return p.Low <= stored && stored <= p.High
	}
}
