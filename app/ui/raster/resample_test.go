package raster

import (
	"image"
	"image/color"
	"math"
	"testing"
)

// discFilm is a bright disc on a dark ground, each pixel the exact share that a
// fine grid finds inside.
func discFilm(size int, cx, cy, r float64) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, size, size))
	const sub = 8
	for y := range size {
		for x := range size {
			n := 0
			for j := range sub {
				for i := range sub {
					if math.Hypot(float64(x)+(float64(i)+0.5)/sub-cx, float64(y)+(float64(j)+0.5)/sub-cy) < r {
						n++
					}
				}
			}
			img.SetGray16(x, y, color.Gray16{Y: uint16(n * 60000 / (sub * sub))})
		}
	}
	return img
}

// centroid returns the centre of brightness of w by h values.
func centroid(v []uint16, w, h int) (x, y float64) {
	sum := 0.0
	for j := range h {
		for i := range w {
			k := float64(v[j*w+i])
			sum += k
			x += k * (float64(i) + 0.5)
			y += k * (float64(j) + 0.5)
		}
	}
	return x / sum, y / sum
}

// TestDiscStaysWhereItIs checks that resampling does not move what is measured: a
// disc's centre of brightness lands where the camera puts the disc's centre.
func TestDiscStaysWhereItIs(t *testing.T) {
	const cx, cy, r = 101.3, 96.7, 40.2
	var p plane
	p.load(discFilm(200, cx, cy, r))
	for _, v := range []view{
		{0, 0, 1}, {3.37, -8.21, 1}, {-20, -10, 0.5}, {-31.7, -12.9, 0.337}, {55.2, 49.9, 2.5}, {-100, -100, 0.12},
	} {
		const w, h = 400, 400
		out := make([]uint16, w*h)
		resample(out, w, h, &p, v)
		x, y := centroid(out, w, h)
		if dx, dy := x-(cx-v.x)*v.zoom, y-(cy-v.y)*v.zoom; math.Hypot(dx, dy) > 0.02 {
			t.Errorf("%+v: the disc moved by %.3f, %.3f view pixels", v, dx, dy)
		}
	}
}

// TestAreaIsTheMean compares with a mean taken directly over each footprint.
func TestAreaIsTheMean(t *testing.T) {
	img := noise(64, 48)
	var p plane
	p.load(img)
	v := view{x: 2.25, y: 1.5, zoom: 0.4} // footprints of 2.5 pixels, on 1/256
	const w, h = 20, 15
	out := make([]uint16, w*h)
	resample(out, w, h, &p, v)
	for _, at := range [][2]int{{0, 0}, {3, 5}, {11, 14}, {19, 2}} {
		want := mean(img, v.x+float64(at[0])*2.5, v.y+float64(at[1])*2.5, 2.5)
		if got := float64(out[at[1]*w+at[0]]); math.Abs(got-want) > 1 {
			t.Errorf("at %v: %.1f, want %.1f", at, got, want)
		}
	}
}

func mean(img *image.Gray16, x0, y0, side float64) float64 {
	sum := 0.0
	for y := int(y0); float64(y) < y0+side; y++ {
		for x := int(x0); float64(x) < x0+side; x++ {
			wx := min(float64(x+1), x0+side) - max(float64(x), x0)
			wy := min(float64(y+1), y0+side) - max(float64(y), y0)
			sum += wx * wy * float64(img.Gray16At(x, y).Y)
		}
	}
	return sum / (side * side)
}

func noise(w, h int) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, w, h))
	s := uint32(1)
	for i := range img.Pix {
		s = s*1664525 + 1013904223
		img.Pix[i] = byte(s >> 24)
	}
	return img
}

func TestOutsideTheFilmIsPlain(t *testing.T) {
	var f Frame
	f.SetFilm(noise(50, 50))
	for _, s := range []Scene{
		{Width: 120, Height: 80, X: 500, Y: 500, Zoom: 1, Greys: Greys{Center: 100, Window: 10}},
		{Width: 120, Height: 80, X: -500, Y: 10, Zoom: 0.3, Greys: Greys{Center: 100, Window: 10}},
		{Width: 120, Height: 80, Zoom: 0}, // no camera yet
		{Width: 1, Height: 1, X: -3, Y: -3, Zoom: 2, Greys: Greys{Center: 1, Window: 1}},
	} {
		out := f.Draw(s)
		if got := out.RGBAAt(0, 0); got != (color.RGBA{0x0d, 0x0f, 0x12, 0xff}) {
			t.Errorf("%+v: corner is %v", s, got)
		}
	}
}

// TestRingHasItsRadius measures a drawn ring by its light: the mean distance from
// the centre is the radius, and the distances show no shift to a side, to 0.02
// pixels.
func TestRingHasItsRadius(t *testing.T) {
	for _, r := range []float64{12.3, 55.7, 140.04} {
		img := image.NewRGBA(image.Rect(0, 0, 400, 400))
		const cx, cy = 200.4, 199.7
		ring(img, cx, cy, r, 1.5, color.RGBA{255, 255, 255, 255})
		sum, mass, mx := 0.0, 0.0, 0.0
		for y := range 400 {
			for x := range 400 {
				dx, dy := float64(x)+0.5-cx, float64(y)+0.5-cy
				// The outer half of a line has more pixels than the inner one.
				k := float64(img.RGBAAt(x, y).R) / math.Hypot(dx, dy)
				sum += k * math.Hypot(dx, dy)
				mx += 2 * k * (math.Hypot(dx, dy) - r) * dx / math.Hypot(dx, dy)
				mass += k
			}
		}
		if got := sum / mass; math.Abs(got-r) > 0.02 {
			t.Errorf("ring of %g has a mean radius of %.3f", r, got)
		}
		if d := mx / mass; math.Abs(d) > 0.02 {
			t.Errorf("ring of %g is off centre by %.3f", r, d)
		}
	}
}

// TestEllipseOfEqualAxesIsARing draws the same circle in both ways.
func TestEllipseOfEqualAxesIsARing(t *testing.T) {
	a, b := image.NewRGBA(image.Rect(0, 0, 200, 200)), image.NewRGBA(image.Rect(0, 0, 200, 200))
	white := color.RGBA{255, 255, 255, 255}
	ring(a, 98.3, 101.9, 60.6, 1.5, white)
	ellipse(b, Ellipse{98.3, 101.9, 60.6, 60.6, 33}, 1.5, white)
	for i := range a.Pix {
		if d := int(a.Pix[i]) - int(b.Pix[i]); d < -2 || d > 2 {
			t.Fatalf("byte %d differs: %d and %d", i, a.Pix[i], b.Pix[i])
		}
	}
}
