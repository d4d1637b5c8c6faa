package station

import (
	"fmt"
	"image"
	"math"

	"linerwatch/measure/phantom"
)

// Tone is the curve that turns depth into greys.
type Tone string

// The tone curves.
const (
	Logarithm Tone = "logarithm" // grey in proportion to optical depth
	Sigmoid   Tone = "sigmoid"   // a logistic curve, bent at both ends
	Film      Tone = "film"      // what a screen-film's density lets through on a light box
	Linear    Tone = "linear"    // grey falls in proportion to exposure
	Knee      Tone = "knee"      // steep up to bone, flat from there on
)

// Tones lists the curves.
var Tones = []Tone{Logarithm, Sigmoid, Film, Linear, Knee}

// Recipe is how one film is processed. The zero value is a plain logarithm of all
// depths there are, in 16 bits.
type Recipe struct {
	Seed uint64 // of grain and dust

	Shade [2]float64 // change of depth from left to right and from top to bottom
	Grid  Grid

	Unsharp    Unsharp
	Multiscale Multiscale

	Low, High float64 // depths that become black and white; both 0 for Stretch
	Stretch   Stretch
	Tone      Tone    // empty for Logarithm
	Steep     float64 // of Sigmoid, Film and Knee; 0 for 1

	Equalise Equalise
	Gamma    float64 // 0 for 1
	ClipLow  float64 // share of the greys that becomes black
	ClipHigh float64 // and white
	Mask     *Mask   // black beyond the collimator
	Scan     Scan
	Text     []Text
	Bits     int // 8 to 16; 0 for 16
	JPEG     int // quality, 1 to 100, of 8 bits; 0 for none
}

// Grid is the shadow of an anti-scatter grid, or the pattern it makes with the
// detector's pixels.
type Grid struct {
	Strength float64 // of the pattern, depth; 0 for none
	PeriodMM float64
	Angle    float64 // degrees
}

// Mask is what a station leaves of a film: it is black outside of the polygon's
// half planes, each given by a place (px) and the direction into the dark.
type Mask struct{ Edges []Edge }

// Edge is a straight edge; Angle is that of the direction into the dark, degrees.
type Edge struct{ X, Y, Angle float64 }

// Text is a line of burned-in text, as bright as the film can show.
type Text struct {
	Line   string
	X, Y   float64 // top left corner, px
	Height float64 // px
	Boxed  bool    // on black
}

// Validate returns an error for a recipe that cannot be followed.
func (r Recipe) Validate() error {
	switch {
	case r.Bits != 0 && (r.Bits < 8 || r.Bits > 16):
		return fmt.Errorf("station: %d bits are not 8 to 16", r.Bits)
	case r.JPEG < 0 || r.JPEG > 100:
		return fmt.Errorf("station: JPEG quality %d is not 0 to 100", r.JPEG)
	case r.JPEG > 0 && r.Bits != 8:
		return fmt.Errorf("station: JPEG has 8 bits, not %d", r.Bits)
	case !(r.Low <= r.High):
		return fmt.Errorf("station: black at a depth of %g is not below white at %g", r.Low, r.High)
	case !(r.ClipLow >= 0 && r.ClipHigh >= 0 && r.ClipLow+r.ClipHigh < 1):
		return fmt.Errorf("station: clipping %g and %g leaves nothing", r.ClipLow, r.ClipHigh)
	}
	return nil
}

// Develop returns the film, bone bright, the largest level being that of all the
// bits. The depth is left as it is. Errors are those of Validate.
func (r Recipe) Develop(d *phantom.Depth) (*image.Gray16, error) {
	if err := r.Validate(); err != nil {
		return nil, err
	}
	f := field{d.W, d.H, append([]float32(nil), d.V...)}
	r.shade(f, d.Spacing)
	r.Unsharp.apply(f, d.Spacing)
	r.Multiscale.apply(f)
	low, high := r.Low, r.High
	if low == high {
		low, high = r.Stretch.ends(f)
	}
	curve(f, low, high, r.Tone, r.Steep)
	r.Equalise.apply(f)
	r.grade(f)
	if r.Mask != nil {
		r.Mask.apply(f)
	}
	r.Scan.apply(f, r.Seed)
	for _, t := range r.Text {
		t.apply(f)
	}
	return r.store(f)
}

// shade adds what the exposure itself has of uneven light and grid lines.
func (r Recipe) shade(f field, spacing float64) {
	if r.Shade == [2]float64{} && r.Grid.Strength == 0 {
		return
	}
	sin, cos := math.Sincos(r.Grid.Angle * math.Pi / 180)
	period := max(r.Grid.PeriodMM, 2*spacing) / spacing
	for y := range f.h {
		v := float64(y)/float64(f.h) - 0.5
		row := f.row(y)
		for x := range row {
			u := float64(x)/float64(f.w) - 0.5
			d := r.Shade[0]*u + r.Shade[1]*v
			if r.Grid.Strength > 0 {
				d += r.Grid.Strength * math.Sin(2*math.Pi*(float64(x)*cos+float64(y)*sin)/period)
			}
			row[x] += float32(d)
		}
	}
}

// grade applies gamma and clipping to greys of 0 to 1.
func (r Recipe) grade(f field) {
	gamma := r.Gamma
	if gamma == 0 {
		gamma = 1
	}
	low, span := r.ClipLow, 1-r.ClipLow-r.ClipHigh
	for i, v := range f.v {
		g := min(1, max(0, float64(v)))
		if gamma != 1 {
			g = math.Pow(g, gamma)
		}
		f.v[i] = float32(min(1, max(0, (g-low)/span)))
	}
}

// apply blackens what lies beyond the edges.
func (m *Mask) apply(f field) {
	for _, e := range m.Edges {
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		for y := range f.h {
			row := f.row(y)
			for x := range row {
				if (float64(x)+0.5-e.X)*cos+(float64(y)+0.5-e.Y)*sin > 0 {
					row[x] = 0
				}
			}
		}
	}
}
