package find

import "math"

// ringTheta is centre, half axes, angle (radians) and the blur of the line, in
// cells of a map.
type ringTheta [6]float64

// ringFloor keeps the ray's way along the wire from growing without end: some
// share of the ring's radius, by the wire's width; tried by .ci/vary.
const ringFloor = 0.15

// ringPicture holds two pictures of the Laplacian of a ring: a line of even
// brightness, and one as bright as the ray's way in it.
type ringPicture struct {
	w, h  int
	depth []uint8 // cells to the nearest that is seen: what lies deeper is not drawn
	a, b  []float64
	// From and to on each row, what is not zero.
	from, to []int
	column   []float64
	square   []float64
	slope    []ringTheta // derivatives of the gained pictures by theta, from to to, row by row
	first    []int       // place in slope of each row's column 0
	drawn    ringTheta   // what they were drawn for
}

// clear empties the pictures, or makes them.
func (p *ringPicture) clear() {
	if p.a == nil {
		p.a, p.b = make([]float64, p.w*p.h), make([]float64, p.w*p.h)
		p.from, p.to = make([]int, p.h), make([]int, p.h)
	}
	for y := range p.h {
		if p.from[y] < p.to[y] {
			clear(p.a[y*p.w+p.from[y] : y*p.w+p.to[y]])
			clear(p.b[y*p.w+p.from[y] : y*p.w+p.to[y]])
		}
		p.from[y], p.to[y] = p.w, 0
	}
}

// spots is the number of spots that make up a ring, 1.4 blurs apart at most: the
// line then ripples by less than a thousandth.
func spots(t ringTheta) int { return 4 * int(math.Ceil(t[2]*math.Pi/2/(1.4*t[5]))) }

// shows reports whether a spot, so many cells wide to either side from a corner on, lies
// on the map and where some of it is seen.
func (p *ringPicture) shows(x, y, half int) bool {
	return x >= 0 && y >= 0 && x+2*half < p.w && y+2*half < p.h && int(p.depth[(y+half)*p.w+x+half]) <= half
}

// draw fills the pictures for t, where they are seen.
func (p *ringPicture) draw(t ringTheta) {
	if p.drawn == t {
		return
	}
	p.drawn = t
	p.clear()
	half := int(math.Ceil(3 * t[5]))
	n := spots(t)
	part := t[2] / t[5] / float64(n)
	s, c := math.Sincos(t[4])
	q := t[3] / t[2]
	side := 2*half + 1
	inv := 1 / (t[5] * t[5])
	fall := math.Exp(-inv)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		x, y := t[0]+t[2]*cos*c-t[3]*sin*s, t[1]+t[2]*cos*s+t[3]*sin*c
		ix, iy := int(math.Floor(x))-half, int(math.Floor(y))-half
		if !p.shows(ix, iy, half) {
			continue
		}
		way := sin*sin + q*q*cos*cos
		even := part * math.Sqrt(way)
		seen := even / math.Sqrt(way+ringFloor*ringFloor)
		column, square := p.across(float64(ix)+0.5-x, inv, fall, side)
		d := float64(iy) + 0.5 - y
		g, ratio := math.Exp(-d*d*inv/2), math.Exp(-(d+0.5)*inv)
		for j := range side {
			row := iy + j
			p.from[row], p.to[row] = min(p.from[row], ix), max(p.to[row], ix+side)
			most := 2 - (d+float64(j))*(d+float64(j))*inv
			a, b, square := p.a[row*p.w+ix:][:len(column)], p.b[row*p.w+ix:][:len(column)], square[:len(column)]
			ge, gs := g*even, g*seen
			for k, e := range column {
				v := (most - square[k]) * e
				a[k] += ge * v
				b[k] += gs * v
			}
			g, ratio = g*ratio, ratio*fall
		}
	}
}

// across returns a Gaussian and the squared distance, in blurs, at side places from
// d on: the Gaussian by its ratio from cell to cell, and the ratio by its own.
func (p *ringPicture) across(d, inv, fall float64, side int) (column, square []float64) {
	if len(p.column) < side {
		p.column, p.square = make([]float64, side), make([]float64, side)
	}
	column, square = p.column[:side], p.square[:side]
	g, ratio := math.Exp(-d*d*inv/2), math.Exp(-(d+0.5)*inv)
	for k := range column {
		column[k], square[k] = g, (d+float64(k))*(d+float64(k))*inv
		g, ratio = g*ratio, ratio*fall
	}
	return column, square
}
