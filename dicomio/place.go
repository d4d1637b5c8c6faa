package dicomio

// Place takes points of a film brought upright and then to square pixels to the pixels
// of the film before that: (x, y) becomes A x + T. Both count from the corner of their
// top-left pixel.
type Place struct {
	A [2][2]float64
	T [2]float64
}

// Place returns the place of what Upright and Square make of f.
func (f *Film) Place() Place {
	p := Place{A: [2][2]float64{{1, 0}, {0, 1}}}
	transpose, mirror, upset, ok := turn(f.Orientation)
	w, h := float64(f.Pixels.Rect.Dx()), float64(f.Pixels.Rect.Dy())
	if ok && transpose {
		p.A = [2][2]float64{{0, 1}, {1, 0}}
	}
	wide, k := f.oblong() // of the film as it lies
	if wide {
		p.scale(0, k)
	} else {
		p.scale(1, k)
	}
	if !ok {
		return p
	}
	// Upright mirrors after it has transposed: its x is a row of f then.
	x, y := 0, 1
	if transpose {
		x, y = 1, 0
	}
	size := [2]float64{w, h}
	if mirror {
		p.flip(x, size[x])
	}
	if upset {
		p.flip(y, size[y])
	}
	return p
}

// scale divides an axis of the result by k.
func (p *Place) scale(axis int, k float64) {
	p.A[axis][0] /= k
	p.A[axis][1] /= k
}

// flip turns an axis of the result round, within its size.
func (p *Place) flip(axis int, size float64) {
	p.A[axis][0], p.A[axis][1], p.T[axis] = -p.A[axis][0], -p.A[axis][1], size-p.T[axis]
}

// Point returns where a point lies.
func (p Place) Point(x, y float64) (px, py float64) {
	px, py = p.Vector(x, y)
	return px + p.T[0], py + p.T[1]
}

// Vector returns what becomes of a difference of two points.
func (p Place) Vector(x, y float64) (px, py float64) {
	return p.A[0][0]*x + p.A[0][1]*y, p.A[1][0]*x + p.A[1][1]*y
}

// Turn returns how far the film is turned clockwise, degrees, and whether it is then
// mirrored left to right, to be upright.
func (p Place) Turn() (degrees int, mirrored bool) {
	switch { // where the way down on the upright film runs in the file
	case p.A[0][1] > 0:
		degrees = 90
	case p.A[1][1] < 0:
		degrees = 180
	case p.A[0][1] < 0:
		degrees = 270
	}
	return degrees, p.A[0][0]*p.A[1][1]-p.A[0][1]*p.A[1][0] < 0
}
