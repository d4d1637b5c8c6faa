package find

import "math"

// slopes fills slope with the derivatives, by theta, of the pictures times their
// gains, where draw has just drawn them for t. A spot at a distance of r blurs adds
// its weight times (2 - r²) exp(-r²/2).
func (p *ringPicture) slopes(t ringTheta, gain [2]float64) {
	p.first = p.first[:0]
	size := 0
	for y, from := range p.from {
		p.first = append(p.first, size-from)
		size += max(0, p.to[y]-from)
	}
	if cap(p.slope) < size {
		p.slope = make([]ringTheta, size+size/4)
	}
	p.slope = p.slope[:size]
	clear(p.slope)
	half := int(math.Ceil(3 * t[5]))
	side := 2*half + 1
	n := spots(t)
	s, c := math.Sincos(t[4])
	inv := 1 / (t[5] * t[5])
	fall, narrow := math.Exp(-inv), 1/t[5]
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		dx, dy := t[2]*cos*c-t[3]*sin*s, t[2]*cos*s+t[3]*sin*c
		x, y := t[0]+dx, t[1]+dy
		ix, iy := int(math.Floor(x))-half, int(math.Floor(y))-half
		if !p.shows(ix, iy, half) {
			continue
		}
		w, byA, byB := spotWeight(t, gain, sin, cos, n)
		left, top := float64(ix)+0.5-x, float64(iy)+0.5-y
		column, square := p.across(left, inv, fall, side)
		cc, cs, sc, ss := cos*c, cos*s, sin*c, sin*s
		g, ratio := math.Exp(-top*top*inv/2), math.Exp(-(top+0.5)*inv)
		for j := range side {
			v := top + float64(j)
			rest, across, down := v*v*inv, left*inv, v*inv
			row, column, square := p.slope[p.first[iy+j]+ix:][:side], column[:side], square[:side]
			for k := range row {
				e, r := g*column[k], rest+square[k]
				level, steep := (2-r)*e, w*(4-r)*e
				fx, fy := steep*across, steep*down
				q := &row[k]
				q[0] += fx
				q[1] += fy
				q[2] += fx*cc + fy*cs + byA*level
				q[3] += fy*sc - fx*ss + byB*level
				q[4] += fy*dx - fx*dy
				q[5] += (steep*r - w*level) * narrow
				across += inv
			}
			g, ratio = g*ratio, ratio*fall
		}
	}
}

// spotWeight returns what a spot counts in the gained pictures, and its derivatives
// by the half axes.
func spotWeight(t ringTheta, gain [2]float64, sin, cos float64, n int) (w, byA, byB float64) {
	part := t[2] / t[5] / float64(n)
	q := t[3] / t[2]
	h := max(1e-9, math.Sqrt(sin*sin+q*q*cos*cos))
	way := math.Sqrt(h*h + ringFloor*ringFloor)
	w = part * h * (gain[0] + gain[1]/way)
	byH := part * (gain[0] + gain[1]*ringFloor*ringFloor/(way*way*way))
	byQ := byH * q * cos * cos / h
	return w, (w - byQ*q) / t[2], byQ / t[2]
}
