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
	hist, n := histogram(img)
	lo, hi := quantile(hist, n, tail), quantile(hist, n, 1-tail)
	return Level{Center: (lo + hi) / 2, Width: max(hi-lo, 1)}
}

// histogram counts the grey values of a film, or of evenly spread rows and columns
// where it is large.
func histogram(img *image.Gray16) (hist *[1 << 16]uint32, n uint32) {
	hist = new([1 << 16]uint32)
	w, h := img.Rect.Dx(), img.Rect.Dy()
	step := max(1, min(w, h)/512) // a quarter of a million pixels tell enough
	for y := 0; y < h; y += step {
		row := img.Pix[y*img.Stride : y*img.Stride+2*w]
		for i := 0; i+1 < len(row); i += 2 * step {
			hist[uint16(row[i])<<8|uint16(row[i+1])]++
			n++
		}
	}
	return hist, n
}

// metalTail is the share of the pixels inside the cup's outline that is taken for
// no metal: what the shell leaves open.
const metalTail = 0.35

// metalLevel returns the window of the brighter pixels inside the cup's outline,
// in which the head stands out from the shell before and behind it.
func metalLevel(img *image.Gray16, cup measure.Circle) (l Level, ok bool) {
	hist, n := discHistogram(img, cup)
	if n == 0 {
		return l, false
	}
	lo, hi := quantile(hist, n, metalTail), quantile(hist, n, 0.998)
	return Level{Center: (lo + hi) / 2, Width: max(hi-lo, 1)}, true
}

// discHistogram counts the grey values inside a circle.
func discHistogram(img *image.Gray16, c measure.Circle) (hist *[1 << 16]uint32, n uint32) {
	hist = new([1 << 16]uint32)
	w, h := float64(img.Rect.Dx()), float64(img.Rect.Dy())
	for y := max(c.Y-c.R, 0); y < min(c.Y+c.R, h); y++ {
		half := math.Sqrt(max(c.R*c.R-(y-c.Y)*(y-c.Y), 0))
		x0, x1 := int(max(c.X-half, 0)), int(min(c.X+half, w))
		if x1 <= x0 {
			continue
		}
		row := img.Pix[int(y)*img.Stride+2*x0 : int(y)*img.Stride+2*x1]
		for i := 0; i+1 < len(row); i += 2 {
			hist[uint16(row[i])<<8|uint16(row[i+1])]++
			n++
		}
	}
	return hist, n
}

// ShowMetal sets the grey window for the head behind the shell.
func (v *Viewer) ShowMetal() {
	f := v.s.strip.selected
	if f == nil || f.pixels == nil || f.Draft == nil {
		return
	}
	if l, ok := metalLevel(f.pixels, f.Draft.Cup.At); ok {
		l.Invert = f.Level.Invert
		f.Level = l
		v.s.changed(ViewChanged)
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
func (v *Viewer) ResetLevel() {
	if f := v.s.strip.selected; f != nil && f.pixels != nil {
		invert := f.Level.Invert
		f.Level = AutoLevel(f.pixels)
		f.Level.Invert = invert
		v.s.changed(ViewChanged)
	}
}

// ToggleInvert swaps dark and bright.
func (v *Viewer) ToggleInvert() {
	if f := v.s.strip.selected; f != nil {
		f.Level.Invert = !f.Level.Invert
		v.s.changed(ViewChanged)
	}
}

// ShowBone sets the grey window for bone: what of the film is neither air nor
// metal. The border between bone and metal is the grey value that parts the
// brighter half of the film best in two (Otsu 1979).
func (v *Viewer) ShowBone() {
	f := v.s.strip.selected
	if f == nil || f.pixels == nil {
		return
	}
	hist, n := histogram(f.pixels)
	lo, mid := quantile(hist, n, 0.02), quantile(hist, n, 0.5)
	hi := parting(hist, int(mid))
	v.setLevel(f, lo, hi)
}

// ShowThroughShell sets the grey window inside the shell's outline to the metal
// alone: the head stands out from the shell before and behind it.
func (v *Viewer) ShowThroughShell() {
	f := v.s.strip.selected
	if f == nil || f.pixels == nil || f.Draft == nil {
		return
	}
	hist, n := discHistogram(f.pixels, f.Draft.Head.At)
	if n == 0 {
		return
	}
	hi := quantile(hist, n, 0.998)
	hist, n = discHistogram(f.pixels, f.Draft.Cup.At)
	v.setLevel(f, quantile(hist, n, 0.55), hi)
}

func (v *Viewer) setLevel(f *Film, lo, hi float64) {
	f.Level = Level{Center: (lo + hi) / 2, Width: max(hi-lo, 1), Invert: f.Level.Invert}
	v.s.changed(ViewChanged)
}

// parting returns the grey value from which on the pixels above from part into two
// classes of the greatest variance between them: Otsu N. IEEE Trans Syst Man
// Cybern 1979;9:62-66.
func parting(hist *[1 << 16]uint32, from int) float64 {
	var total, sum float64
	for v := from; v < len(hist); v++ {
		total += float64(hist[v])
		sum += float64(hist[v]) * float64(v)
	}
	best, at := -1.0, float64(len(hist)-1)
	var below, belowSum float64
	for v := from; v < len(hist); v++ {
		below += float64(hist[v])
		belowSum += float64(hist[v]) * float64(v)
		if above := total - below; below > 0 && above > 0 {
			d := belowSum/below - (sum-belowSum)/above
			if b := below * above * d * d; b > best {
				best, at = b, float64(v)
			}
		}
	}
	return at
}
