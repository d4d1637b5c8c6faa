package station

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"

	"linerwatch/measure/phantom/glyph"
)

// Scan is what a digitiser of films adds.
type Scan struct {
	BlurPX float64 // standard deviation
	Grain  float64 // standard deviation of the grain, greys of 0 to 1, in the middle greys
	Dust   int     // specks and hairs
}

// apply blurs, adds grain, and lets dust fall.
func (s Scan) apply(f field, seed uint64) {
	f.blur(s.BlurPX)
	rng := rand.New(rand.NewPCG(seed, 3))
	if s.Grain > 0 {
		grain := field{f.w, f.h, make([]float32, len(f.v))}
		for i := range grain.v {
			// Three evens are near enough to a normal variate.
			u := rng.Uint64()
			grain.v[i] = float32(u&0xfffff+u>>20&0xfffff+u>>40&0xfffff)/0xfffff - 1.5
		}
		grain.blur(0.6)
		for i, g := range grain.v {
			v := f.v[i]
			// Grain shows most in the middle greys. A blur of 0.6 px leaves 0.47 of it.
			f.v[i] = min(1, max(0, v+float32(s.Grain)*g*2/0.47*(0.25+3*v*(1-v))))
		}
	}
	for range s.Dust {
		x, y := float64(f.w)*rng.Float64(), float64(f.h)*rng.Float64()
		level := float32(0)
		if rng.IntN(2) == 0 {
			level = 1
		}
		steps, r := 1, 0.7+2*rng.Float64()
		if rng.IntN(3) == 0 {
			steps, r = 20+rng.IntN(80), 0.7 // a hair
		}
		way := 2 * math.Pi * rng.Float64()
		for range steps {
			f.dot(x, y, r, level)
			x, y = x+math.Cos(way), y+math.Sin(way)
			way += 0.12 * rng.NormFloat64()
		}
	}
}

// dot draws a disc with a soft edge.
func (f field) dot(x, y, r float64, level float32) {
	for j := max(0, int(y-r-1)); j <= min(f.h-1, int(y+r+1)); j++ {
		for i := max(0, int(x-r-1)); i <= min(f.w-1, int(x+r+1)); i++ {
			on := float32(min(1, max(0, r+0.5-math.Hypot(float64(i)+0.5-x, float64(j)+0.5-y))))
			v := &f.row(j)[i]
			*v += on * (level - *v)
		}
	}
}

// apply burns the text in.
func (t Text) apply(f field) {
	strokes := glyph.Text(t.Line)
	wide := glyph.Advance * float64(len([]rune(t.Line))) * t.Height
	pad := 0.25 * t.Height
	for y := max(0, int(t.Y-pad)); y < min(f.h, int(t.Y+t.Height+pad)); y++ {
		row := f.row(y)
		for x := max(0, int(t.X-pad)); x < min(f.w, int(t.X+wide+pad)); x++ {
			d := glyph.Distance(strokes, (float64(x)+0.5-t.X)/t.Height, (float64(y)+0.5-t.Y)/t.Height) * t.Height
			on := float32(min(1, max(0, 0.055*t.Height+0.5-d)))
			if t.Boxed {
				row[x] = 0
			}
			row[x] += on * (1 - row[x])
		}
	}
}

// store rounds to the bits stored, and compresses.
func (r Recipe) store(f field) (*image.Gray16, error) {
	bits := r.Bits
	if bits == 0 {
		bits = 16
	}
	img := image.NewGray16(image.Rect(0, 0, f.w, f.h))
	top := float32(int(1)<<bits - 1)
	if r.JPEG > 0 {
		return squeezed(f, r.JPEG)
	}
	for i, v := range f.v {
		g := uint16(min(1, max(0, v))*top + 0.5)
		img.Pix[2*i], img.Pix[2*i+1] = byte(g>>8), byte(g)
	}
	return img, nil
}

// squeezed returns f after baseline JPEG of 8 bits.
func squeezed(f field, quality int) (*image.Gray16, error) {
	grey := image.NewGray(image.Rect(0, 0, f.w, f.h))
	for i, v := range f.v {
		grey.Pix[i] = uint8(min(1, max(0, v))*255 + 0.5)
	}
	var file bytes.Buffer
	if err := jpeg.Encode(&file, grey, &jpeg.Options{Quality: quality}); err != nil {
		return nil, err
	}
	back, err := jpeg.Decode(&file)
	if err != nil {
		return nil, err
	}
	again, ok := back.(*image.Gray)
	if !ok {
		return nil, fmt.Errorf("station: a grey JPEG came back as %T", back)
	}
	img := image.NewGray16(grey.Rect)
	for y := range f.h {
		for x, v := range again.Pix[y*again.Stride : y*again.Stride+f.w] {
			img.Pix[y*img.Stride+2*x+1] = v
		}
	}
	return img, nil
}
