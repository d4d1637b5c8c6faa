package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// rimFit is the pose of a rim with the covariance of its parameters.
type rimFit struct {
	pose     rimTheta
	cov      [rimPose][rimPose]float64
	scatter  float64 // robust standard deviation of a cell, grey levels
	contrast float64 // of a wall met at right angles, grey levels
}

// search returns the pose that fits the coarse grid best, first with all cells
// alike and then, around the best, with those that do not fit counting less and at
// several depths. other is the best with another version, since narrow rims have
// more than one place to settle.
func (m *rimModel) search() (best, other rimTheta, err error) {
	const degree = math.Pi / 180
	var tries []rimTheta
	for turn := -24.0; turn <= 24; turn += 8 {
		for _, tip := range []float64{3, 12, 25} {
			tries = append(tries, rimTheta{m.start + turn*degree, tip * degree, 0, rimPrior[rimWall]})
		}
	}
	cells := m.coarse.cells
	paths := make([][rimPaths]float64, len(cells))
	for round := range 2 {
		costs := m.costs(tries)
		least := leastOf(costs, func(int) bool { return true })
		if least < 0 {
			return best, other, noRim("nothing to fit")
		}
		best = tries[least]
		if round > 0 {
			other = tries[leastOf(costs, func(i int) bool { return tries[i][rimVersion] != best[rimVersion] })]
			break
		}
		m.coarse.paths(best, paths)
		coef, _, _ := linear(cells, paths)
		reweigh(cells, residuals(cells, paths, coef), 0.15*coef.contrast(rimPrior[rimWall]))
		tries = tries[:0]
		for _, turn := range []float64{-4, 0, 4} {
			for _, tip := range []float64{2, 7, 13, 21, 32} {
				for _, depth := range []float64{-0.1, -0.04, 0.02, 0.08} {
					tries = append(tries, rimTheta{best[rimAxis] + turn*degree, tip * degree, depth, rimPrior[rimWall]})
				}
			}
		}
	}
	return best, other, nil
}

// costs returns how the tries fit the coarse grid, infinite where they cannot.
func (m *rimModel) costs(tries []rimTheta) []float64 {
	costs := make([]float64, len(tries))
	inBands(len(tries), func(from, to int) {
		g := m.coarse.twin()
		paths := make([][rimPaths]float64, len(g.cells))
		for i := from; i < to; i++ {
			g.paths(tries[i], paths)
			var ok bool
			if _, costs[i], ok = linear(g.cells, paths); !ok {
				costs[i] = math.Inf(1)
			}
		}
	})
	return costs
}

// leastOf returns the least of those that count, or -1 where all are infinite.
func leastOf(costs []float64, counts func(int) bool) int {
	least := -1
	for i, c := range costs {
		if counts(i) && !math.IsInf(c, 1) && (least < 0 || c < costs[least]) {
			least = i
		}
	}
	return least
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

// reweigh sets Cauchy weights and returns the robust standard deviation. least is
// a scatter that is let pass: an edge a little off its place must keep its pull.
func reweigh(cells []rimCell, r []float64, least float64) float64 {
	sizes := make([]float64, len(r))
	for i, x := range r {
		sizes[i] = math.Abs(x)
	}
	sd := max(1e-9, 1.4826*median(sizes))
	for i, x := range r {
		z := x / (2.4 * max(sd, least))
		cells[i].weight = 1 / (1 + z*z)
	}
	return sd
}

// descend brings a pose to the weighted least squares on the fine grid by
// Levenberg and Marquardt's method, background and contrast solved for at each
// step, the weights renewed as it goes.
func (m *rimModel) descend(p, other rimTheta) (f rimFit, err error) {
	n := len(m.fine.cells)
	s := &rimDescent{grid: m.fine, cells: m.fine.cells, paths: make([][rimPaths]float64, n)}
	for i := range s.by {
		s.by[i], s.twins[i] = make([][rimPaths]float64, n), m.fine.twin()
	}
	nothing := noRim("nothing to fit")
	if !s.at(p) {
		return f, nothing
	}
	// The two starts compete under the same weights.
	s.weigh(0.1)
	if !s.at(p) || !s.settle() {
		return f, nothing
	}
	first, cost := s.pose, s.cost
	if !(s.at(other) && s.settle() && s.cost < cost) && !s.at(first) {
		return f, nothing
	}
	s.weigh(0.05)
	if !s.at(s.pose) || !s.settle() {
		return f, nothing
	}
	f.pose = s.pose
	if f.pose[rimVersion] < 0 {
		f.pose[rimVersion] = -f.pose[rimVersion]
	}
	f.scatter = s.sd * m.span
	f.contrast = s.coef.contrast(f.pose[rimWall]) * m.span
	var ok bool
	if f.cov, ok = s.covariance(); !ok {
		return f, noRim("its direction and width cannot be told apart")
	}
	return f, nil
}

// rimDescent is a pose on the way to the best one.
type rimDescent struct {
	grid    *rimGrid
	twins   [rimPose]*rimGrid
	cells   []rimCell
	pose    rimTheta
	paths   [][rimPaths]float64
	by      [rimPose][][rimPaths]float64 // paths a little further along each parameter
	derived rimTheta                     // the pose of by
	coef    rimCoef
	cost    float64 // with the priors
	sd      float64
}

// weigh renews the weights; scatter up to a share of the contrast is let pass.
func (s *rimDescent) weigh(share float64) {
	s.sd = reweigh(s.cells, residuals(s.cells, s.paths, s.coef), share*s.coef.contrast(s.pose[rimWall]))
}

// rimNudge is the step by which derivatives are taken, radians or radii: half of
// the distance between rays, or they would be rough.
const rimNudge = 0.008

// at evaluates a pose.
func (s *rimDescent) at(p rimTheta) bool {
	s.grid.paths(p, s.paths)
	coef, cost, ok := linear(s.cells, s.paths)
	s.pose, s.coef, s.cost = p, coef, cost+s.held(p)
	return ok
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
func (s *rimDescent) hold() float64 { return s.sd * 0.15 / (2 * s.grid.pitch) }

func (s *rimDescent) settle() bool {
	damp := 1e-3
	for range 6 {
		normal, g := s.normal()
		was := *s
		for {
			a := normal
			n := mat.NewSymDense(rimAll, nil)
			for i := range a {
				for j := 0; j <= i; j++ {
					n.SetSym(i, j, a[i][j])
				}
				n.SetSym(i, i, a[i][i]*(1+1e-7)+1e-9)
				if i >= rimLinear {
					n.SetSym(i, i, a[i][i]*(1+damp)+1e-9)
				}
			}
			var chol mat.Cholesky
			var x mat.VecDense
			if !chol.Factorize(n) || chol.SolveVecTo(&x, mat.NewVecDense(rimAll, g[:])) != nil {
				return false
			}
			next, size := was.pose, 0.0
			for i := range next {
				d := max(-0.1, min(0.1, x.AtVec(rimLinear+i)))
				next[i] += d
				size = max(size, math.Abs(d))
			}
			next[rimVersion] = max(-0.1, min(1.2, next[rimVersion]))
			next[rimDepth] = max(-0.3, min(0.3, next[rimDepth]))
			next[rimWall] = max(0.03, min(0.4, next[rimWall]))
			if s.at(next) && s.cost < was.cost {
				damp = max(1e-5, damp/5)
				if size < 1e-3 {
					return true
				}
				break
			}
			if damp *= 10; damp > 1e3 || size < 1e-3 {
				return s.at(was.pose)
			}
		}
	}
	return true
}

// derive takes the pictures a little further along each parameter, if they are not
// those of the pose.
func (s *rimDescent) derive() {
	if s.derived == s.pose {
		return
	}
	s.derived = s.pose
	inBands(rimPose, func(from, to int) {
		for k := from; k < to; k++ {
			q := s.pose
			q[k] += rimNudge
			s.twins[k].paths(q, s.by[k])
		}
	})
}

// rows calls f with each cell's derivatives by the linear coefficients and the
// pose, and its residual.
func (s *rimDescent) rows(f func(i int, row *[rimAll]float64, residual float64)) {
	s.derive()
	r := residuals(s.cells, s.paths, s.coef)
	var row [rimAll]float64
	for i := range s.cells {
		g := s.cells[i].ground()
		copy(row[:], g[:])
		copy(row[rimGround:], s.paths[i][:])
		for k := range rimPose {
			var sum float64
			for l, x := range s.by[k][i] {
				sum += s.coef[rimGround+l] * (x - s.paths[i][l])
			}
			row[rimLinear+k] = sum / rimNudge
		}
		f(i, &row, r[i])
	}
}

// normal returns the normal equations of coefficients and pose.
func (s *rimDescent) normal() (a [rimAll][rimAll]float64, g [rimAll]float64) {
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
		for k := range j {
			a[k][j] = a[j][k]
		}
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
	n, middle := mat.NewSymDense(rimAll, nil), mat.NewSymDense(rimAll, nil)
	for i := range a {
		for j := 0; j <= i; j++ {
			n.SetSym(i, j, a[i][j])
		}
		n.SetSym(i, i, a[i][i]*(1+1e-7)+1e-9)
	}
	for _, sum := range sums {
		middle.SymRankOne(middle, 1, mat.NewVecDense(rimAll, sum[:]))
	}
	for i := range rimPose {
		w := s.hold() / rimPriorSD[i]
		middle.SetSym(rimLinear+i, rimLinear+i, middle.At(rimLinear+i, rimLinear+i)+w*w)
	}
	var chol mat.Cholesky
	if !chol.Factorize(n) {
		return cov, false
	}
	var half, whole mat.Dense
	if chol.SolveTo(&half, middle) != nil || chol.SolveTo(&whole, half.T()) != nil {
		return cov, false
	}
	for i := range cov {
		for j := range cov {
			cov[i][j] = whole.At(rimLinear+i, rimLinear+j)
		}
		if !(cov[i][i] >= 0) || !isFinite(cov[i][i]) {
			return cov, false
		}
	}
	return cov, true
}
