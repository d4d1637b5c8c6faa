package measure

import (
	"math"
	"slices"
)

// residual fills r with what the model leaves of a sector's profile, and the
// derivatives by the sector's own parameters where own is not nil.
func (k *calibration) residual(s *sector, edges *family, r []float64, jac [][own]float64) (sum float64) {
	edge := edges.of(s.drop)
	yin, yout := k.tone.depth(s.in), k.tone.depth(s.out)
	in, out := math.Exp(yin), math.Exp(yout)
	din, dout := -in/k.slope(yin), -out/k.slope(yout)
	for j, d := range k.d {
		share, slope := edge.at(d - s.at)
		outside, beyond := max(0, d-s.at), 0.0
		if outside > 0 {
			beyond = 1
		}
		around := out * (1 + s.rise*outside)
		i := max(1e-3, in+(around-in)*share)
		y := math.Log(i)
		v := k.level(y)
		if s.v[j] >= k.cut && v >= k.cut {
			r[j] = 0
			if jac != nil {
				jac[j] = [own]float64{}
			}
			continue
		}
		r[j] = s.v[j] - v
		sum += r[j] * r[j]
		if jac != nil {
			g := -k.slope(y) / i
			jac[j] = [own]float64{
				-g * ((around-in)*slope + share*out*s.rise*beyond),
				g * (1 - share) * din,
				g * share * (1 + s.rise*outside) * dout,
				g * share * out * outside,
			}
		}
	}
	return sum
}

// cost returns what fit minimises.
func (k *calibration) cost() (sum float64) {
	edge := newFamily(k.sigma, k.depth, k.harden)
	r := make([]float64, len(k.d))
	for i := range k.sectors {
		sum += k.residual(&k.sectors[i], edge, r, nil)
		sum += k.hold(k.sectors[i].rise)
	}
	return sum + k.penalty(nil, nil)
}

// penalty returns what the priors cost, in squared levels, and adds to the
// normal equations where they are not nil.
func (k *calibration) penalty(a *[common][common]float64, g *[common]float64) (sum float64) {
	now := k.get()
	for i := range now {
		w := k.noise * k.noise / (priorSD[i] * priorSD[i])
		d := now[i] - k.prior[i]
		sum += w * d * d
		if a != nil {
			a[i][i] += w
			g[i] -= w * d
		}
	}
	return sum
}

// riseSD is the sd of the prior of a sector's rise, per px.
const riseSD = 0.01

// hold returns what the prior of a rise costs.
func (k *calibration) hold(rise float64) float64 {
	return k.noise * k.noise * rise * rise / (riseSD * riseSD)
}

// block is what a sector adds to the normal equations: the inverse of its own
// part, the part it shares with the common parameters, and its gradient.
type block struct {
	inv [own][own]float64
	b   [own][common]float64
	g   [own]float64
}

// normal holds the normal equations of the common parameters, after those of
// each sector are eliminated.
type normal struct {
	a      [common][common]float64
	g      [common]float64
	blocks []block
}

// fit minimises the squared residuals by Levenberg-Marquardt, with each
// sector's own parameters eliminated.
func (k *calibration) fit(turns int) bool {
	var most float64
	for _, s := range k.sectors {
		most = max(most, s.in-s.out)
	}
	k.noise = 0.02 * most
	lambda := 1e-3
	k.weaken()
	now := k.cost()
	for turn := range turns {
		if turn == 2 {
			k.weaken()
			now = k.cost()
		}
		e, ok := k.equations(lambda)
		if !ok {
			return false
		}
		next, ok := k.stepped(e)
		if !ok {
			return false
		}
		then := next.cost()
		if then < now {
			gain := now - then
			*k, now = next, then
			lambda = max(lambda/10, 1e-9)
			if gain < 1e-4*now {
				break
			}
		} else if lambda *= 10; lambda > 1e6 {
			break
		}
	}
	return true
}

// equations sums the normal equations, their diagonals raised by lambda. The
// derivatives by the common parameters are differences.
func (k *calibration) equations(lambda float64) (e normal, ok bool) {
	p := k.get()
	edge := newFamily(k.sigma, k.depth, k.harden)
	var moved [common]calibration
	var edges [common]*family
	var steps [common]float64
	for i := range moved {
		steps[i] = 1e-4
		if i == 1 && p[i] > mostBend-2e-4 {
			steps[i] = -1e-4
		}
		q := p
		q[i] += steps[i]
		moved[i] = *k
		moved[i].set(q)
		edges[i] = edge
		if i >= 2 {
			edges[i] = newFamily(moved[i].sigma, moved[i].depth, k.harden)
		}
	}
	k.penalty(&e.a, &e.g)
	for i := range e.a {
		e.a[i][i] *= 1 + lambda
	}
	m := len(k.d)
	r, r2, jac := make([]float64, m), make([]float64, m), make([][own]float64, m)
	diff := make([][common]float64, m)
	e.blocks = make([]block, len(k.sectors))
	for n := range k.sectors {
		s := &k.sectors[n]
		k.residual(s, edge, r, jac)
		for i := range moved {
			moved[i].residual(s, edges[i], r2, nil)
			for j := range r {
				diff[j][i] = (r[j] - r2[j]) / steps[i]
			}
		}
		if !e.add(n, r, jac, diff, k.noise*k.noise/(riseSD*riseSD), s.rise, lambda) {
			return e, false
		}
	}
	return e, true
}

// add adds a sector with the derivatives jac by its own and diff by the common
// parameters, and eliminates the former. hold is the weight of the prior of its
// rise.
func (e *normal) add(n int, r []float64, jac [][own]float64, diff [][common]float64, hold, rise, lambda float64) bool {
	var c [own][own]float64
	q := &e.blocks[n]
	for j := range r {
		for x := range own {
			for y := range own {
				c[x][y] += jac[j][x] * jac[j][y]
			}
			for y := range common {
				q.b[x][y] += jac[j][x] * diff[j][y]
			}
			q.g[x] += jac[j][x] * r[j]
		}
		for x := range common {
			for y := range common {
				e.a[x][y] += diff[j][x] * diff[j][y]
			}
			e.g[x] += diff[j][x] * r[j]
		}
	}
	c[3][3] += hold
	q.g[3] -= hold * rise
	for x := range own {
		c[x][x] = c[x][x]*(1+lambda) + 1e-12
	}
	var ok bool
	if q.inv, ok = invert4(c); !ok {
		return false
	}
	for x := range common {
		for u := range own {
			var t float64
			for v := range own {
				t += q.inv[u][v] * q.b[v][x]
			}
			for y := range common {
				e.a[y][x] -= q.b[u][y] * t
			}
			e.g[x] -= t * q.g[u]
		}
	}
	return true
}

// stepped solves e and returns k moved by the solution, within bounds.
func (k *calibration) stepped(e normal) (next calibration, ok bool) {
	inv, ok := invert4(e.a)
	if !ok {
		return next, false
	}
	p := k.get()
	var dp [common]float64
	for x := range common {
		for y := range common {
			dp[x] += inv[x][y] * e.g[y]
		}
		p[x] += max(-0.5, min(dp[x], 0.5))
	}
	next = *k
	next.sectors = slices.Clone(k.sectors)
	next.set(p)
	for n := range next.sectors {
		s, q := &next.sectors[n], &e.blocks[n]
		var t [own]float64
		for x := range own {
			g := q.g[x]
			for y := range common {
				g -= q.b[x][y] * dp[y]
			}
			for u := range own {
				t[u] += q.inv[u][x] * g
			}
		}
		s.at += max(-2, min(t[0], 2))
		s.in += t[1]
		s.out += t[2]
		s.rise = max(-0.1, min(s.rise+t[3], 0.1))
	}
	return next, true
}

// invert4 returns the inverse of a symmetric positive definite matrix by
// Gauss-Jordan elimination after scaling the diagonal to one.
func invert4(a [4][4]float64) (inv [4][4]float64, ok bool) {
	var s [4]float64
	for i := range s {
		if !(a[i][i] > 0) {
			return inv, false
		}
		s[i] = 1 / math.Sqrt(a[i][i])
	}
	for i := range a {
		for j := range a {
			a[i][j] *= s[i] * s[j]
		}
		inv[i][i] = 1
	}
	for i := range a {
		p := a[i][i]
		if !(p > 1e-12) {
			return inv, false
		}
		for j := range a {
			a[i][j] /= p
			inv[i][j] /= p
		}
		for r := range a {
			if f := a[r][i]; r != i {
				for j := range a {
					a[r][j] -= f * a[i][j]
					inv[r][j] -= f * inv[i][j]
				}
			}
		}
	}
	for i := range inv {
		for j := range inv {
			inv[i][j] *= s[i] * s[j]
		}
	}
	return inv, true
}
