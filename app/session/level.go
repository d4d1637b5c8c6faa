package session

import (
	"image"
	"math"

	"linerwatch/measure"
)

// Level is the window of grey values shown: Center and Width in pixel values,
// Invert for dark bone.
type Level struct {
	Center, Width float64
	Invert        bool
}

// AutoLevel returns the window that holds all but the darkest and the brightest
// half per cent of the film.
func AutoLevel(img *image.Gray16) Level {
	const tail = 0.005
	var hist [1 << 16]uint32
	n := uint32(0)
	w, h := img.Rect.Dx(), img.Rect.Dy()
	step := max(1, min(w, h)/512) // a quarter of a million pixels tell enough
	for y := 0; y < h; y += step {
		row := img.Pix[y*img.Stride : y*img.Stride+2*w]
		for i := 0; i+1 < len(row); i += 2 * step {
			hist[uint16(row[i])<<8|uint16(row[i+1])]++
			n++
		}
	}
	lo, hi := quantile(&hist, n, tail), quantile(&hist, n, 1-tail)
	return Level{Center: (lo + hi) / 2, Width: max(hi-lo, 1)}
}

// metalTail is the share of the pixels inside the cup's outline that is taken for
// no metal: what the shell leaves open.
const metalTail = 0.35

// metalLevel returns the window of the brighter pixels inside the cup's outline,
// in which the head stands out from the shell before and behind it.
func metalLevel(img *image.Gray16, cup measure.Circle) (l Level, ok bool) {
	var hist [1 << 16]uint32
	n := uint32(0)
	w, h := float64(img.Rect.Dx()), float64(img.Rect.Dy())
	for y := max(cup.Y-cup.R, 0); y < min(cup.Y+cup.R, h); y++ {
		half := math.Sqrt(max(cup.R*cup.R-(y-cup.Y)*(y-cup.Y), 0))
		x0, x1 := int(max(cup.X-half, 0)), int(min(cup.X+half, w))
		if x1 <= x0 {
			continue
		}
		row := img.Pix[int(y)*img.Stride+2*x0 : int(y)*img.Stride+2*x1]
		for i := 0; i+1 < len(row); i += 2 {
			hist[uint16(row[i])<<8|uint16(row[i+1])]++
			n++
		}
	}
	if n == 0 {
		return l, false
	}
	lo, hi := quantile(&hist, n, metalTail), quantile(&hist, n, 0.998)
	return Level{Center: (lo + hi) / 2, Width: max(hi-lo, 1)}, true
}

// ShowMetal sets the grey window for the head behind the shell.
func (s *Session) ShowMetal() {
	f := s.selected
	if f == nil || f.pixels == nil || f.Draft == nil {
		return
	}
	if l, ok := metalLevel(f.pixels, f.Draft.Cup.At); ok {
		l.Invert = f.Level.Invert
		f.Level = l
		s.changed(ViewChanged)
	}
}

// quantile returns the grey value below which the share q of n pixels lies.
func quantile(hist *[1 << 16]uint32, n uint32, q float64) float64 {
	want, sum := uint32(q*float64(n)), uint32(0)
	for v, k := range hist {
		if sum += k; sum > want {
			return float64(v)
		}
	}
	return float64(len(hist) - 1)
}

// shifted returns l after a drag by (dx, dy) view pixels: sideways changes the
// width, up and down the centre. A drag across about 1000 pixels spans the window.
func (l Level) shifted(dx, dy float64) Level {
	k := max(l.Width, 16) / 500
	l.Width = min(max(l.Width+dx*k, 1), 1<<17)
	l.Center = min(max(l.Center+dy*k, 0), 1<<16)
	return l
}

// ResetLevel returns to the window computed from the film.
func (s *Session) ResetLevel() {
	if f := s.selected; f != nil && f.pixels != nil {
		invert := f.Level.Invert
		f.Level = AutoLevel(f.pixels)
		f.Level.Invert = invert
		s.changed(ViewChanged)
	}
}

// ToggleInvert swaps dark and bright.
func (s *Session) ToggleInvert() {
	if f := s.selected; f != nil {
		f.Level.Invert = !f.Level.Invert
		s.changed(ViewChanged)
	}
}
