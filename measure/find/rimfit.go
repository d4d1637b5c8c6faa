package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// rimFit is the pose of a rim with the covariance of its parameters.
type rimFit struct {
	pose     rimTheta
	cov      [rimPose][rimPose]float64
	scatter  float64 // robust standard deviation of a cell, grey levels
	contrast float64 // of a wall met at right angles, grey levels
}

func residuals(cells []rimCell, paths [][rimPaths]float64, coef rimCoef) []float64 {
	r := make([]float64, len(cells))
	for i := range cells {
		var sum float64
		for j, x := range cells[i].ground() {
			sum += coef[j] * x
		}
		for j, x := range paths[i] {
			sum += coef[rimGround+j] * x
		}
		r[i] = cells[i].v - sum
	}
	return r
}

// reweigh sets Cauchy weights, whose 2.4 deviations leave 95 % of the efficiency on normal
// residuals (Holland PW, Welsch RE. Commun Stat A 1977;6:813-827, from memory), and returns
// the robust standard deviation. least is a scatter that is let pass: an edge a little off
// its place must keep its pull.
func reweigh(cells []rimCell, r []float64, least float64) float64 {
	sizes := make([]float64, len(r))
	for i, x := range r {
		sizes[i] = math.Abs(x)
	}
	sd := max(1e-9, 1.4826*film.Median(sizes))
	for i, x := range r {
		z := x / (2.4 * max(sd, least))
		cells[i].weight = 1 / (1 + z*z)
	}
	return sd
}

// descend brings the best of some poses to the weighted least squares on the fine
// grid by Levenberg and Marquardt's method, background and contrast solved for at
// each step. They compete on the coarse grid, and the two best of them, if they are
// apart, on the fine one, under the same weights.
func (m *rimModel) descend(starts []rimTheta) (f rimFit, err error) {
	nothing := measure.Fault("rim.nothing", nil)
	s := newRimDescent(m.coarse)
	if len(starts) == 0 || !s.at(starts[0]) || !s.weigh(0.1) {
		return f, nothing
	}
	found, costs := make([]rimTheta, len(starts)), make([]float64, len(starts))
	film.InBands(len(starts), func(from, to int) {
		for i := from; i < to; i++ {
			t := newRimDescent(m.coarse.twin())
			t.sd = s.sd
			if costs[i] = math.Inf(1); t.at(starts[i]) && t.settle() {
				found[i], costs[i] = t.pose, t.cost
			}
		}
	})
	best := leastOf(costs, func(int) bool { return true })
	if best < 0 {
		return f, nothing
	}
	apart := func(i int) bool {
		return math.Abs(math.Abs(found[i][rimVersion])-math.Abs(found[best][rimVersion])) > 0.02
	}
	other := leastOf(costs, apart)
	s = newRimDescent(m.fine)
	if !s.at(found[best]) || !s.weigh(0.1) || !s.settle() {
		return f, nothing
	}
	if first, cost := s.pose, s.cost; other >= 0 && !(s.at(found[other]) && s.settle() && s.cost < cost) {
		s.at(first)
	}
	if !s.weigh(0.05) || !s.settle() {
		return f, nothing
	}
	f.pose = s.pose
	if f.pose[rimVersion] < 0 {
		f.pose[rimVersion] = -f.pose[rimVersion]
	}
	f.scatter = s.sd * m.span
	f.contrast = s.coef.level(f.pose[rimWall]) * m.span
	var ok bool
	if f.cov, ok = s.covariance(); !ok {
		return f, measure.Fault("rim.untold", nil)
	}
	return f, nil
}

// rimDescent is a pose on the way to the best one.
type rimDescent struct {
	grid   *rimGrid
	cells  []rimCell
	pose   rimTheta
	paths  [][rimPaths]float64
	spare  [][rimPaths]float64
	by     [][rimPose]float64 // how the picture changes a little further along each parameter, as normal found
	ground rimSums
	coef   rimCoef
	cost   float64 // with the priors
	sd     float64
}

func newRimDescent(g *rimGrid) *rimDescent {
	pictures := func() [][rimPaths]float64 { return make([][rimPaths]float64, len(g.cells)) }
	return &rimDescent{grid: g, cells: g.cells, paths: pictures(), spare: pictures(), by: make([][rimPose]float64, len(g.cells)), ground: groundSums(g.cells)}
}

// weigh renews the weights; scatter up to a share of the contrast is let pass.
func (s *rimDescent) weigh(share float64) bool {
	s.sd = reweigh(s.cells, residuals(s.cells, s.paths, s.coef), share*s.coef.level(s.pose[rimWall]))
	s.ground = groundSums(s.cells)
	return s.solve(s.pose)
}

// at goes to a pose.
func (s *rimDescent) at(p rimTheta) bool {
	s.grid.paths(p, s.paths)
	return s.solve(p)
}

// solve solves for background and contrast of the pose p, whose pictures are there.
func (s *rimDescent) solve(p rimTheta) bool {
	coef, cost, ok := linear(s.cells, s.paths, s.ground)
	s.pose, s.coef, s.cost = p, coef, cost+s.held(p)
	return ok
}

// try goes to a pose if it fits better than the present one.
func (s *rimDescent) try(p rimTheta) bool {
	was := *s
	s.paths, s.spare = s.spare, s.paths
	if s.at(p) && s.cost < was.cost {
		return true
	}
	s.paths, s.spare = s.spare, s.paths
	s.pose, s.coef, s.cost = was.pose, was.coef, was.cost
	return false
}

// held returns the share of the priors in the sum of squares.
func (s *rimDescent) held(p rimTheta) (sum float64) {
	for i, sd := range rimPriorSD {
		z := (p[i] - rimPrior[i]) / sd * s.hold()
		sum += z * z
	}
	return sum
}

// hold is the standard deviation against which priors count: that of a cell times
// the size of a block, in cells, since neighbours err alike.
func (s *rimDescent) hold() float64 { return s.sd * rimBlock / (2 * s.grid.pitch) }

// settle goes downhill from the present pose.
func (s *rimDescent) settle() bool {
	damp := 1e-3
	for range 6 {
		normal, g := s.normal()
		for {
			next, size, ok := s.step(&normal, &g, damp)
			if !ok {
				return false
			}
			if s.try(next) {
				if damp = max(1e-5, damp/5); size < 1e-3 {
					return true
				}
				break
			}
			if damp *= 10; damp > 1e3 || size < 1e-3 {
				return true
			}
		}
	}
	return true
}

// step returns the pose to which the damped normal equations lead, and how far the
// largest of its parameters is off.
func (s *rimDescent) step(normal *[rimAll][rimAll]float64, g *[rimAll]float64, damp float64) (next rimTheta, size float64, ok bool) {
	a := *normal
	for i := rimLinear; i < rimAll; i++ {
		a[i][i] *= 1 + damp
	}
	x, ok := fit.Solve(a[:], *g)
	if !ok {
		return next, 0, false
	}
	next = s.pose
	for i := range next {
		d := max(-0.1, min(0.1, x[rimLinear+i]))
		next[i] += d
		size = max(size, math.Abs(d))
	}
	next[rimVersion] = max(-0.1, min(1.2, next[rimVersion]))
	next[rimDepth] = max(-0.3, min(0.3, next[rimDepth]))
	next[rimWall] = max(0.03, min(0.4, next[rimWall]))
	return next, size, true
}

// nudge is the step by which derivatives are taken, radians or radii: half of the
// distance between rays, or they would be rough.
func (s *rimDescent) nudge() float64 { return s.grid.pitch / 2 }

// rows calls f with each cell's derivatives by the linear coefficients and the
// pose, and its residual.
func (s *rimDescent) rows(f func(i int, row *[rimAll]float64, residual float64)) {
	r, nudge := residuals(s.cells, s.paths, s.coef), s.nudge()
	var row [rimAll]float64
	for i := range s.cells {
		g := s.cells[i].ground()
		copy(row[:], g[:])
		copy(row[rimGround:], s.paths[i][:])
		for k := range rimPose {
			row[rimLinear+k] = s.by[i][k] / nudge
		}
		f(i, &row, r[i])
	}
}

// normal returns the normal equations of coefficients and pose, the matrix's lower half.
func (s *rimDescent) normal() (a [rimAll][rimAll]float64, g [rimAll]float64) {
	s.grid.slopes(s.pose, s.nudge(), &s.coef, s.by)
	s.rows(func(i int, row *[rimAll]float64, r float64) {
		w := s.cells[i].weight
		for j, x := range row {
			if x == 0 {
				continue
			}
			x *= w
			g[j] += x * r
			for k := 0; k <= j; k++ {
				a[j][k] += x * row[k]
			}
		}
	})
	for j := range a {
		a[j][j] = a[j][j]*(1+1e-7) + 1e-9
	}
	for i, sd := range rimPriorSD {
		w := s.hold() / sd
		a[rimLinear+i][rimLinear+i] += w * w
		g[rimLinear+i] -= w * w * (s.pose[i] - rimPrior[i])
	}
	return a, g
}

// covariance returns that of the pose: the inverse of the normal equations around
// the sum over blocks of the squares of what their residuals add up to, which
// holds whatever the correlation within a block (Liang KY, Zeger SL. Biometrika
// 1986;73:13-22).
func (s *rimDescent) covariance() (cov [rimPose][rimPose]float64, ok bool) {
	a, _ := s.normal()
	sums := map[int]*[rimAll]float64{}
	s.rows(func(i int, row *[rimAll]float64, r float64) {
		b := s.cells[i].block
		if sums[b] == nil {
			sums[b] = new([rimAll]float64)
		}
		for j, x := range row {
			sums[b][j] += s.cells[i].weight * r * x
		}
	})
	var inv [rimAll][rimAll]float64
	if !fit.GaussJordan(a[:], inv[:]) {
		return cov, false
	}
	for i, sd := range rimPriorSD { // a prior is a block of its own
		sums[-1-i] = new([rimAll]float64)
		sums[-1-i][rimLinear+i] = s.hold() / sd
	}
	var moved rimTheta
	for _, sum := range sums {
		move := fit.Times(inv[:], *sum)
		copy(moved[:], move[rimLinear:])
		measure.AddSquares(cov[:], 1, [rimPose]float64(moved))
	}
	return cov, measure.Finite(cov[rimAxis][rimAxis], cov[rimVersion][rimVersion], cov[rimDepth][rimDepth], cov[rimWall][rimWall])
}
