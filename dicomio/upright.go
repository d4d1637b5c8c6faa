package dicomio

import "strings"

// Upright returns the film as it is to be looked at: rows run to the patient's
// left, columns to the feet, so that the patient's right is at image left
// (PS3.3 C.7.6.1.1.1). Geometry, Field and Orientation of the result fit it. Where
// Orientation is not stated, or is not of a film seen from front or back, f
// itself is returned, as it is where nothing is to be done.
func (f *Film) Upright() *Film {
	transpose, mirror, upset, ok := turn(f.Orientation)
	if !ok || !transpose && !mirror && !upset {
		return f
	}
	g := *f
	g.Orientation, g.Turned = [2]string{"L", "F"}, strings.Join(f.Orientation[:], `\`)
	from, w, h := f.Pixels, f.Pixels.Rect.Dx(), f.Pixels.Rect.Dy()
	if transpose {
		w, h = h, w
		g.Rows, g.Columns = f.Columns, f.Rows
		for _, pair := range g.Geometry.pairs() {
			pair[0], pair[1] = pair[1], pair[0]
		}
	}
	g.Field = f.Field.upright(transpose, mirror, upset, w, h)
	g.Pixels = turnedBy(from, from.Rect.Dx(), from.Rect.Dy(), transpose, mirror, upset)
	return &g
}

// UprightBy returns a code for what Upright does to the film, "" where its
// Orientation does not tell.
func (f *Film) UprightBy() string {
	transpose, mirror, upset, ok := turn(f.Orientation)
	switch {
	case !ok:
		return ""
	case transpose && mirror && upset:
		return "upright.exchanged-half-turn"
	case transpose && mirror:
		return "upright.clockwise"
	case transpose && upset:
		return "upright.counterclockwise"
	case transpose:
		return "upright.exchanged"
	case mirror && upset:
		return "upright.half-turn"
	case mirror:
		return "upright.mirrored"
	case upset:
		return "upright.upset"
	}
	return "upright.as-it-is"
}

// turn says how a film is brought upright: rows and columns exchanged, then
// mirrored left to right, then turned upside down.
func turn(o [2]string) (transpose, mirror, upset, ok bool) {
	if o[0] == "" || o[1] == "" {
		return
	}
	rows, columns := o[0][0], o[1][0] // the main direction comes first
	if lengthwise(rows) {
		transpose = true
		rows, columns = columns, rows
	}
	if rows != 'L' && rows != 'R' || !lengthwise(columns) {
		return
	}
	return transpose, rows == 'R', columns == 'H', true
}

func lengthwise(direction byte) bool { return direction == 'H' || direction == 'F' }
