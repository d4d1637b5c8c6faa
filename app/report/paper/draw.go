package paper

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"image/jpeg"

	"codeberg.org/go-pdf/fpdf"
)

// Pen is how a line is drawn, and what lies within it.
type Pen struct {
	Ink   Ink
	MM    float64 // width; 0 draws no line
	Dash  []float64
	Fill  Ink
	Solid bool // whether it is filled
}

// Point is a place on the page.
type Point = fpdf.PointType

func (s *Sheet) take(p Pen) (style string) {
	s.pdf.SetDrawColor(int(p.Ink.R), int(p.Ink.G), int(p.Ink.B))
	s.pdf.SetFillColor(int(p.Fill.R), int(p.Fill.G), int(p.Fill.B))
	s.pdf.SetLineWidth(max(p.MM, 0.05))
	s.pdf.SetDashPattern(p.Dash, 0)
	s.pdf.SetLineCapStyle("butt")
	switch {
	case p.Solid && p.MM > 0:
		return "FD"
	case p.Solid:
		return "F"
	}
	return "D"
}

// Stroke draws a line through points.
func (s *Sheet) Stroke(p Pen, points ...Point) {
	if len(points) < 2 {
		return
	}
	s.take(p)
	s.pdf.MoveTo(points[0].X, points[0].Y)
	for _, q := range points[1:] {
		s.pdf.LineTo(q.X, q.Y)
	}
	s.pdf.DrawPath("D")
}

// Area draws a polygon.
func (s *Sheet) Area(p Pen, points ...Point) { s.pdf.Polygon(points, s.take(p)) }

// Disc draws a circle.
func (s *Sheet) Disc(p Pen, x, y, r float64) { s.pdf.Circle(x, y, r, s.take(p)) }

// Dots draws a disc at each point with few bytes: they are ends of lines without length.
func (s *Sheet) Dots(ink Ink, r float64, points []Point) {
	s.take(Pen{Ink: ink, MM: 2 * r})
	s.pdf.SetLineCapStyle("round")
	for _, q := range points {
		s.pdf.MoveTo(q.X, q.Y)
		s.pdf.LineTo(q.X, q.Y)
	}
	if len(points) > 0 {
		s.pdf.DrawPath("D")
	}
}

// Crosses draws a cross that reaches r at each point.
func (s *Sheet) Crosses(p Pen, r float64, points []Point) {
	s.take(p)
	for _, q := range points {
		s.pdf.MoveTo(q.X-r, q.Y)
		s.pdf.LineTo(q.X+r, q.Y)
		s.pdf.MoveTo(q.X, q.Y-r)
		s.pdf.LineTo(q.X, q.Y+r)
	}
	if len(points) > 0 {
		s.pdf.DrawPath("D")
	}
}

// Oval draws an ellipse; degrees turn it clockwise.
func (s *Sheet) Oval(p Pen, x, y, a, b, degrees float64) {
	s.pdf.Ellipse(x, y, a, b, -degrees, s.take(p))
}

// Box draws a rectangle.
func (s *Sheet) Box(p Pen, x, y, w, h float64) { s.pdf.Rect(x, y, w, h, s.take(p)) }

// Clipped draws within a rectangle alone.
func (s *Sheet) Clipped(x, y, w, h float64, draw func()) {
	s.pdf.ClipRect(x, y, w, h, false)
	draw()
	s.pdf.ClipEnd()
}

// jpegQuality keeps the edges of a film's greys; some 40 kB for 500 x 500 pixels.
const jpegQuality = 85

// Picture draws an image. One that is drawn twice is in the document once: it is named by its
// content.
func (s *Sheet) Picture(img image.Image, x, y, w, h float64) error {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: jpegQuality}); err != nil {
		return fmt.Errorf("report: picture: %w", err)
	}
	name := fmt.Sprintf("%x", sha256.Sum256(b.Bytes()))
	o := fpdf.ImageOptions{ImageType: "JPEG"}
	s.pdf.RegisterImageOptionsReader(name, o, &b)
	s.pdf.ImageOptions(name, x, y, w, h, false, o, 0, "")
	return s.pdf.Error()
}
