package find

import "linerwatch/measure"

// A slope counts up to ridgeMost usual ones, and less half of those ridgeWide px
// inside and outside of it: an edge is a crest of slope, and what falls slowly across
// a shell is none.
const (
	ridgeMost = 2.0
	ridgeWide = 3.0 // px of an edgeMap
)

// ridge returns the mean over the turns of how much more the film falls outwards
// along a circle of m than inside and outside of it, in usual slopes. Unlike along it
// holds what is too faint to be told from noise in any one place, and what speaks
// against an edge.
func (m *edgeMap) ridge(c measure.Circle, u *[turns]vector2) float64 {
	var sum float32
	n, x, y, r := 0, float32(c.X), float32(c.Y), float32(c.R)
	for _, u := range u {
		at, ok := m.fall(x, y, r, u)
		in, ok2 := m.fall(x, y, r-ridgeWide, u)
		out, ok3 := m.fall(x, y, r+ridgeWide, u)
		if ok && ok2 && ok3 {
			sum += min(ridgeMost, max(-ridgeMost, at-0.5*(in+out)))
			n++
		}
	}
	if 4*n < turns {
		return 0
	}
	return float64(sum) / float64(n)
}

// fall returns how the film falls outwards at a distance of r from (x, y), px of m,
// in usual slopes, and whether that can be told.
func (m *edgeMap) fall(x, y, r float32, u vector2) (v float32, ok bool) {
	px, py := int(x+r*u.x), int(y+r*u.y)
	if px < 0 || py < 0 || px >= m.W || py >= m.H {
		return 0, false
	}
	s := m.slope[py*m.W+px]
	return -(s.x*u.x + s.y*u.y), s != vector2{}
}

// lead returns how far the ridge along a circle, px of the film, stands out from
// those along the circles of a search that are apart from it, over how far the
// greatest of those does: about one and less where the circle is one of many.
func (m *edgeMap) lead(c measure.Circle, s circleSearch) float64 {
	u := directions()
	var n, sum, most float64
	x, y, shift := (s.X-m.x0f)/m.k, (s.Y-m.y0f)/m.k, s.shift/m.k
	for dy := -shift; dy <= shift; dy++ {
		for dx := -shift; dx <= shift; dx++ {
			d := measure.Circle{X: x + dx, Y: y + dy}
			if dx*dx+dy*dy > shift*shift || m.film(d).Center().Distance(c.Center()) < 1.5*s.apart {
				continue
			}
			for d.R = s.inner / m.k; m.allows(d, s); d.R++ {
				v := m.ridge(d, &u)
				n, sum, most = n+1, sum+v, max(most, v)
			}
		}
	}
	mean := sum / n
	if n < 2 || most <= mean {
		return 0
	}
	return (m.ridgeNear(c, &u) - mean) / (most - mean)
}

// ridgeNear returns the greatest ridge within a px of a circle, px of the film.
func (m *edgeMap) ridgeNear(c measure.Circle, u *[turns]vector2) (most float64) {
	c = measure.Circle{X: (c.X - m.x0f) / m.k, Y: (c.Y - m.y0f) / m.k, R: c.R / m.k}
	for dr := -1.0; dr <= 1; dr += 0.5 {
		for dy := -1.0; dy <= 1; dy += 0.5 {
			for dx := -1.0; dx <= 1; dx += 0.5 {
				most = max(most, m.ridge(measure.Circle{X: c.X + dx, Y: c.Y + dy, R: c.R + dr}, u))
			}
		}
	}
	return most
}
