package measure

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// ringModel fits the picture of a whole wire ring to the Laplacian of a film:
// both lines together where they merge, and the bright ends where the rays run
// along the wire. What is hidden by wide metal does not count. Lengths are in
// cells of the map.
type ringModel struct {
	m *ringMap
	ringPicture

	center       Point // what is allowed, px of the film
	hole         Circle
	shift        float64
	inner, outer float64
	fine         float64 // a descent ends at steps below this, cells
	steps        int
}

// ringMatch is how the pictures for one theta match the film.
type ringMatch struct {
	theta    ringTheta
	gain     [2]float64
	explains float64 // sum of squares
	share    float64 // of the sum of squares near the ring
	cells    []int   // near the ring and not hidden
}

// match finds the gains of the pictures for t.
func (r *ringModel) match(t ringTheta, keep bool) (k ringMatch) {
	k.theta = t
	e := r.m.ellipse(t)
	if !(e.A >= r.inner && e.A <= r.outer && t[3] >= 0 && t[3] <= 0.75*t[2] && math.Hypot(e.X-r.center.X, e.Y-r.center.Y) <= r.shift) {
		return k
	}
	// Both ends must be seen, or the long axis is not known.
	if r.hole.Distance(e.At(0)) < 0.12*r.hole.R || r.hole.Distance(e.At(180)) < 0.12*r.hole.R {
		return k
	}
	r.draw(t)
	var aa, ab, bb, fa, fb, ff float64
	for y := range r.h {
		for i := y*r.w + r.from[y]; i < y*r.w+r.to[y]; i++ {
			a := r.a[i]
			if a == 0 || r.m.hidden[i] {
				continue
			}
			b, f := r.b[i], float64(r.m.bend[i])
			aa, ab, bb, fa, fb = aa+a*a, ab+a*b, bb+b*b, fa+f*a, fb+f*b
			ff += f * f
			if keep {
				k.cells = append(k.cells, i)
			}
		}
	}
	if aa == 0 || ff == 0 {
		return k
	}
	bb *= 1.0001 // the pictures of a round ring are alike
	aa *= 1.0001
	det := aa*bb - ab*ab
	k.gain = [2]float64{(fa*bb - fb*ab) / det, (fb*aa - fa*ab) / det}
	switch {
	case k.gain[0] < 0:
		k.gain = [2]float64{0, max(0, fb/bb)}
	case k.gain[1] < 0:
		k.gain = [2]float64{max(0, fa/aa), 0}
	}
	k.explains = k.gain[0]*fa + k.gain[1]*fb
	k.share = k.explains / ff
	return k
}

// descend improves a match by Levenberg and Marquardt's method, the gains solved
// for at each step (Kaufman L. BIT 1975;15:49-57), and returns the covariance of
// centre, half axes and angle in cells.
func (r *ringModel) descend(t ringTheta) (best ringMatch, cov [5][5]float64, ok bool) {
	t[3] = max(t[3], ringThin)
	best = r.match(t, true)
	damp := 0.01
	for range r.steps {
		if best.explains <= 0 {
			return best, cov, false
		}
		normal, g := r.normal(best)
		for i := range g {
			normal.SetSym(i, i, normal.At(i, i)*(1+damp))
		}
		var chol mat.Cholesky
		if !chol.Factorize(normal) {
			return best, cov, false
		}
		var step mat.VecDense
		if chol.SolveVecTo(&step, mat.NewVecDense(len(g), g[:])) != nil {
			return best, cov, false
		}
		next := best.theta
		size := 0.0
		for i := range next {
			d := max(-1, min(1, step.AtVec(i)))
			if i == 4 {
				d = max(-0.03, min(0.03, step.AtVec(i)))
			}
			next[i] += d
			if i < 3 {
				size = max(size, math.Abs(d))
			}
		}
		next[3], next[5] = max(math.Abs(next[3]), ringThin), max(0.8*t[5], min(1.35*t[5], next[5]))
		k := r.match(next, true)
		if k.explains <= best.explains {
			if damp *= 8; damp > 1e3 || size < r.fine {
				break
			}
			continue
		}
		best = k
		damp = max(1e-6, damp/5)
		if size < r.fine {
			break
		}
	}
	cov, ok = r.covariance(best)
	return best, cov, ok
}

// ringThin is the short half axis, in cells, below which none is told: a ring
// edge-on looks the same to first order, whichever way it opens.
const ringThin = 0.01

// normal returns the matrix and the right side of the normal equations.
func (r *ringModel) normal(k ringMatch) (*mat.SymDense, [6]float64) {
	r.draw(k.theta)
	n := len(k.cells)
	a, b, rest := make([]float64, n), make([]float64, n), make([]float64, n)
	var aa, ab, bb float64
	for i, c := range k.cells {
		a[i], b[i] = r.a[c], r.b[c]
		rest[i] = float64(r.m.bend[c]) - k.gain[0]*a[i] - k.gain[1]*b[i]
		aa, ab, bb = aa+a[i]*a[i], ab+a[i]*b[i], bb+b[i]*b[i]
	}
	aa, bb = 1.0001*aa, 1.0001*bb
	det := aa*bb - ab*ab
	r.slopes(k.theta, k.gain)
	var da, db, u, v ringTheta
	for i, c := range k.cells {
		for p, d := range r.slope[c] {
			da[p] += d * a[i]
			db[p] += d * b[i]
		}
	}
	for p := range u {
		u[p], v[p] = (da[p]*bb-db[p]*ab)/det, (db[p]*aa-da[p]*ab)/det
	}
	var sums [36]float64
	var g [6]float64
	for i, c := range k.cells {
		d := r.slope[c]
		for p := range d {
			d[p] -= u[p]*a[i] + v[p]*b[i]
			g[p] += d[p] * rest[i]
			for q := range p + 1 {
				sums[6*q+p] += d[q] * d[p]
			}
		}
	}
	return mat.NewSymDense(6, sums[:]), g
}

// misfit is the part of a ring's residuals that moves it as noise would; the rest
// departs from the picture evenly. From phantom films.
const misfit = 0.2

// covariance returns that of centre, half axes and angle: that part of the
// residuals' variance times the cells that one blurred point of noise spreads
// over.
func (r *ringModel) covariance(k ringMatch) (cov [5][5]float64, ok bool) {
	m, _ := r.normal(k)
	for i := range 6 {
		m.SetSym(i, i, m.At(i, i)*(1+1e-9))
	}
	var chol mat.Cholesky
	var inv mat.SymDense
	if !chol.Factorize(m) || chol.InverseTo(&inv) != nil {
		return cov, false
	}
	total := k.explains / k.share
	variance := (total - k.explains) / float64(len(k.cells)) * misfit * 4 * math.Pi * k.theta[5] * k.theta[5]
	for i := range cov {
		for j := range cov[i] {
			cov[i][j] = inv.At(i, j) * variance
		}
	}
	return cov, isFinite(cov[0][0], cov[1][1], cov[2][2])
}
