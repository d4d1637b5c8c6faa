package dicomio

import (
	"encoding/binary"
	"image"
	"math"
)

// A VOI chooses the values of interest: a Window or a Table. It returns the grey
// for a value of the modality as a fraction, 0 to 1.
type VOI interface {
	grey(v float64) float64
}

// grey is the window's function of PS3.3 C.11.2.1.2 and C.11.2.1.3.
func (w Window) grey(v float64) float64 {
	switch w.Function {
	case "SIGMOID":
		return 1 / (1 + math.Exp(-4*(v-w.Center)/w.Width))
	case "LINEAR_EXACT":
		return clamp((v-w.Center)/w.Width + 0.5)
	}
	c, width := w.Center-0.5, w.Width-1
	if width <= 0 { // a step
		if v <= c {
			return 0
		}
		return 1
	}
	return clamp((v-c)/width + 0.5)
}

func (t Table) grey(v float64) float64 {
	return clamp(float64(t.at(math.Round(v))) / float64(mask(t.Bits)))
}

func clamp(v float64) float64 { return min(max(v, 0), 1) }

// DefaultVOI returns the first window, else the first VOI table of the file,
// else a window over every value that the bits stored allow.
func (f *Film) DefaultVOI() VOI {
	switch g := f.Greys; {
	case len(g.Windows) > 0:
		return g.Windows[0]
	case len(g.Tables) > 0:
		return g.Tables[0]
	}
	return f.FullVOI()
}

// FullVOI returns a window over every value that the bits stored allow.
func (f *Film) FullVOI() Window {
	low, high := f.modalityRange()
	return Window{Center: (low + high) / 2, Width: high - low, Function: "LINEAR_EXACT"}
}

// modalityRange is the range of values after the modality's rescaling.
func (f *Film) modalityRange() (low, high float64) {
	if t := f.Greys.Modality; t != nil {
		return 0, float64(mask(t.Bits))
	}
	a := f.modality(signed(flip(f.Bits, false, f.Signed), f.Bits, f.Signed))
	b := f.modality(signed(mask(f.Bits)^flip(f.Bits, false, f.Signed), f.Bits, f.Signed))
	return min(a, b), max(a, b)
}

// modality is the modality transformation of a stored value (PS3.3 C.11.1).
func (f *Film) modality(stored int) float64 {
	switch g := f.Greys; {
	case g.Modality != nil:
		return float64(g.Modality.at(float64(stored)))
	case g.Slope != 0:
		return g.Slope*float64(stored) + g.Intercept
	}
	return float64(stored)
}

// Value returns the value in the units of the modality of the pixel in column x
// and row y: the stored value rescaled, or through the modality's table.
func (f *Film) Value(x, y int) float64 { return f.modality(f.Stored(x, y)) }

// Display returns the picture as the standard wants it shown (PS3.4 N.2): the
// modality's rescaling, then voi, then the presentation's shape, in 256 levels.
// A nil voi is DefaultVOI. Padding is black.
func (f *Film) Display(voi VOI) *image.Gray {
	levels := f.Levels(voi)
	r := f.Pixels.Rect
	out := image.NewGray(r)
	for y := range r.Dy() {
		row := f.Pixels.Pix[y*f.Pixels.Stride:][:2*r.Dx()]
		to := out.Pix[y*out.Stride:][:r.Dx()]
		for x := range to {
			to[x] = levels[binary.BigEndian.Uint16(row[2*x:])]
		}
	}
	return out
}

// Levels returns the level of every value that Pixels may hold, 65536 of them,
// as Display uses it.
func (f *Film) Levels(voi VOI) []uint8 {
	if voi == nil {
		voi = f.DefaultVOI()
	}
	inverse := f.inverted()
	flip := f.flip()
	levels := make([]uint8, 1<<16)
	for v := range 1 << f.Bits {
		stored := signed(uint16(v)^flip, f.Bits, f.Signed)
		if p := f.Greys.Padding; p != nil && p.Low <= stored && stored <= p.High {
			continue
		}
		grey := voi.grey(f.modality(stored))
		if inverse {
			grey = 1 - grey
		}
		levels[v] = uint8(math.Round(255 * grey))
	}
	return levels
}
