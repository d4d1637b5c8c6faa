package raster

import (
	"image"
	"image/color"
	"math"
	"strconv"
)

// Strip is the residuals of one outline's edge points against the angle from the
// top of the film, clockwise: 0 to 360 degrees from left to right, positive
// residuals, outside the outline, upwards.
type Strip struct {
	Width, Height int
	Scale         float64 // picture pixels per unit of the screen
	Points        []StripPoint
	Color         color.RGBA // of kept points
	Left          color.RGBA // of those left out
	Ground        color.RGBA
	Text          color.RGBA
	From, To      float64 // sector being chosen; equal for none
	Hover         int     // point under the pointer, -1 for none
}

// StripPoint is one edge point.
type StripPoint struct {
	Angle, Residual float64
	Kept            bool
	None            bool // no edge was found: the point has no residual
}

// The strip's margins, in units of the screen.
const (
	stripLeft   = 58
	stripRight  = 14
	stripTop    = 22
	stripBottom = 20
)

// Limit returns the residual at the strip's upper edge: kept points take most of
// the height, so that a tenth of a pixel is seen.
func (s Strip) Limit() float64 {
	most := 0.25
	for _, p := range s.Points {
		if p.Kept {
			most = max(most, math.Abs(p.Residual))
		}
	}
	return math.Ceil(most*1.15*4) / 4
}

func (s Strip) area() (x0, y0, x1, y1 float64) {
	k := max(s.Scale, 1)
	return stripLeft * k, stripTop * k, float64(s.Width) - stripRight*k, float64(s.Height) - stripBottom*k
}

// Angle returns the angle at picture column x, within 0 to 360.
func (s Strip) Angle(x float64) float64 {
	x0, _, x1, _ := s.area()
	return min(max((x-x0)/(x1-x0)*360, 0), 360)
}

// Place returns where a point is drawn; one beyond the limit lies on the edge.
func (s Strip) Place(p StripPoint) (x, y float64) {
	x0, y0, x1, y1 := s.area()
	l := s.Limit()
	r := min(max(p.Residual, -l), l)
	return x0 + p.Angle/360*(x1-x0), (y0+y1)/2 - r/l*(y1-y0)/2
}

// Nearest returns the point within reach of (x, y), or -1.
func (s Strip) Nearest(x, y float64) int {
	best, least := -1, 7*max(s.Scale, 1)
	for i, p := range s.Points {
		px, py := s.Place(p)
		if p.None {
			_, _, _, py = s.area()
		}
		if d := math.Hypot(px-x, py-y); d < least {
			best, least = i, d
		}
	}
	return best
}

// Draw returns the strip's picture.
func (s Strip) Draw(t *Type) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, s.Width, s.Height))
	for i := 0; i < len(img.Pix); i += 4 {
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = s.Ground.R, s.Ground.G, s.Ground.B, 255
	}
	x0, y0, x1, y1 := s.area()
	if x1 <= x0 || y1 <= y0 {
		return img
	}
	k := max(s.Scale, 1)
	s.sector(img, y0, y1)
	hair := s.Text
	hair.A = 60
	for a := 0.0; a <= 360; a += 45 {
		x := x0 + a/360*(x1-x0)
		line(img, x, y0, x, y1, k, hair)
		s.write(t, img, x-9*k, y1+14*k, strconv.Itoa(int(a))+"°")
	}
	mid := hair
	mid.A = 150
	line(img, x0, (y0+y1)/2, x1, (y0+y1)/2, k, mid)
	l := strconv.FormatFloat(s.Limit(), 'f', 2, 64)
	s.write(t, img, 4*k, y0+8*k, "+"+l+" px")
	s.write(t, img, 4*k, (y0+y1)/2+4*k, "0")
	s.write(t, img, 4*k, y1, "-"+l+" px")
	for i, p := range s.Points {
		s.point(img, p, k, i == s.Hover)
	}
	return img
}

func (s Strip) sector(img *image.RGBA, y0, y1 float64) {
	if s.From == s.To {
		return
	}
	a, _ := s.Place(StripPoint{Angle: min(s.From, s.To)})
	b, _ := s.Place(StripPoint{Angle: max(s.From, s.To)})
	c := s.Left
	c.A = 70
	for y := int(y0); y < int(y1); y++ {
		for x := max(int(a), 0); x < min(int(b), s.Width); x++ {
			blend(img, x, y, c, 1)
		}
	}
}

func (s Strip) point(img *image.RGBA, p StripPoint, k float64, hover bool) {
	x, y := s.Place(p)
	switch {
	case p.Kept:
		disc(img, x, y, 1.8*k, s.Color)
	case p.None:
		_, _, _, y1 := s.area()
		line(img, x, y1-3*k, x, y1, k, s.Left)
	default:
		r := 2.4 * k
		line(img, x-r, y-r, x+r, y+r, k, s.Left)
		line(img, x-r, y+r, x+r, y-r, k, s.Left)
	}
	if hover {
		ring(img, x, y, 6*k, 1.5*k, s.Text)
	}
}

func (s Strip) write(t *Type, img *image.RGBA, x, y float64, text string) {
	if t != nil {
		t.write(img, x, y, 11*max(s.Scale, 1), text, s.Text)
	}
}
