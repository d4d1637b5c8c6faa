package find

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// viewCells is the radius of a head in cells of a view, about: shrinking takes noise
// and time away, and leaves the place of an edge to a fifth of a cell or so; tried by
// .ci/vary.
const viewCells = 56

// view is a part of a film, shrunken. Its circles are in cells.
type view struct {
	film.Patch
	k      float64       // px of the film per cell
	corner measure.Point // px of the film
}

// view returns the part of the film within half px of a place, shrunken for a head of
// radius r px; ok is false where hardly anything of it is on the film.
func (s *search) view(at measure.Point, half, r float64) (v view, ok bool) {
	return s.middle(at, half, half, r)
}

// middle is view as far as some px around the place, in the same cells.
func (s *search) middle(at measure.Point, around, half, r float64) (v view, ok bool) {
	k := max(1, int(r/viewCells+0.5))
	part := film.Square(s.img, at.X, at.Y, half)
	if part.Dx() < 16*k || part.Dy() < 16*k {
		return v, false
	}
	near := film.Square(s.img, at.X, at.Y, around)
	part.Min = near.Min.Sub(image.Pt((near.Min.X-part.Min.X)%k, (near.Min.Y-part.Min.Y)%k))
	part.Max = near.Max
	return shrunken(s.img, part, k), true
}

// shrunken returns a part of img, counted from its corner, in cells of k px.
func shrunken(img *image.Gray16, part image.Rectangle, k int) view {
	return view{
		Patch: film.Shrink(img.SubImage(part.Add(img.Rect.Min)).(*image.Gray16), k),
		k:     float64(k), corner: measure.Point{X: float64(part.Min.X), Y: float64(part.Min.Y)},
	}
}

// cells returns a circle of the film in cells.
func (v *view) cells(c measure.Circle) measure.Circle {
	return measure.Circle{X: (c.X - v.corner.X) / v.k, Y: (c.Y - v.corner.Y) / v.k, R: c.R / v.k}
}

// px returns a circle of cells on the film.
func (v *view) px(c measure.Circle) measure.Circle {
	return measure.Circle{X: v.corner.X + v.k*c.X, Y: v.corner.Y + v.k*c.Y, R: v.k * c.R}
}

// direction returns the unit vector to the middle of a sector.
func direction(sector int) (sin, cos float64) {
	return math.Sincos(2 * math.Pi * float64(sector) / sectors)
}
