package find

import "linerwatch/measure/fit"

// ground are the functions of the background at a cell.
func (c *rimCell) ground() [rimGround]float64 {
	return [rimGround]float64{1, c.x, c.y, c.x * c.x, c.x * c.y, c.y * c.y}
}

// rimCoef are the coefficients of background and path.
type rimCoef [rimLinear]float64

// level returns by how much a path brightens the film; the wall's is its contrast.
func (c *rimCoef) level(path float64) (sum float64) {
	for k, x := range rise(path) {
		sum += c[rimGround+k] * x
	}
	return sum
}

// rimSums are the normal equations of background and functions of the path.
type rimSums struct {
	a  [rimLinear]rimCoef // lower triangle
	b  rimCoef
	vv float64
}

// groundSums returns the part of the background, which no pose changes.
func groundSums(cells []rimCell) (s rimSums) {
	for i := range cells {
		c := &cells[i]
		g := c.ground()
		for j, x := range g {
			x *= c.weight
			s.b[j] += x * c.v
			for k := 0; k <= j; k++ {
				s.a[j][k] += x * g[k]
			}
		}
		s.vv += c.weight * c.v * c.v
	}
	return s
}

// linear solves for the background, of which the sums are given, and the functions of the
// path, and returns the coefficients and the weighted sum of squares.
func linear(cells []rimCell, paths [][rimPaths]float64, s rimSums) (coef rimCoef, cost float64, ok bool) {
	for i := range cells {
		c := &cells[i]
		g, p := c.ground(), &paths[i]
		for j, x := range p {
			x *= c.weight
			row := &s.a[rimGround+j]
			s.b[rimGround+j] += x * c.v
			for k, y := range g {
				row[k] += x * y
			}
			for k := 0; k <= j; k++ {
				row[rimGround+k] += x * p[k]
			}
		}
	}
	for j := range s.a {
		s.a[j][j] = s.a[j][j]*(1+1e-7) + 1e-9
	}
	x, ok := fit.Solve(s.a[:], s.b)
	cost = s.vv
	for j, c := range x {
		cost -= c * s.b[j]
	}
	return rimCoef(x), max(0, cost), ok
}
