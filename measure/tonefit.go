package measure

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// row is a residual with its derivatives, of the model and not of the residual,
// by a sector's own parameters and by the common ones.
type row struct {
	r      float64
	own    [own]float64
	common [common]float64
}

// priors is how many rows of a sector are priors.
const priors = 3

// rows returns the sum of squares that a sector leaves, and fills rows, one per
// sample of the profile and then the priors, where they are not nil.
func (k *calibration) rows(s *sector, edges *family, rows []row) (sum float64) {
	edge := edges.of(s.drop)
	yin, yout := k.tone.depth(s.in), k.tone.depth(s.out)
	in, out := math.Exp(yin), math.Exp(yout)
	sin, sout := k.slope(yin), k.slope(yout)
	// Changes of the intensities by log gain and bend at the same levels.
	inGain, outGain := -in*(k.ref-s.in)/sin, -out*(k.ref-s.out)/sout
	inBend, outBend := in*k.bending(yin)/sin, out*k.bending(yout)/sout
	for j, d := range k.d {
		x := d - s.at
		share, slope, turn := edge.at(x)
		outside, beyond := max(0, x), 0.0
		if x > 0 {
			beyond = 1
		}
		lift := 1 + s.rise*outside
		step := out*lift - in
		i := max(1e-3, in+step*share)
		y := math.Log(i)
		v := k.level(y)
		pass := 1.0
		if !math.IsInf(k.cut, 1) {
			v, pass = below(v, k.cut, k.grain(y))
		}
		r := s.v[j] - v
		sum += r * r
		if rows == nil {
			continue
		}
		g := -k.slope(y) / i * pass
		rows[j] = row{r, [own]float64{
			-g * (step*slope + share*out*s.rise*beyond),
			-g * (1 - share) * in / sin,
			-g * share * lift * out / sout,
			g * share * out * outside,
		}, [common]float64{
			logGain:  pass*(k.level(y)-k.ref) + g*((1-share)*inGain+share*lift*outGain),
			bend:     pass*k.bending(y) + g*((1-share)*inBend+share*lift*outBend),
			logSigma: g * step * (turn/2 - x*slope),
			logDepth: -g * step * turn / 2,
		}}
	}
	return sum + k.hold(s, rows)
}

// hold is the part of rows that holds a sector's own parameters near what the
// other sectors say: the outline near one circle, the level of metal near a
// straight line in the level around it, and the level around nearly even.
func (k *calibration) hold(s *sector, rows []row) (sum float64) {
	sin, cos := math.Sincos(s.angle * math.Pi / 180)
	q := k.common
	var p [priors]row
	w := k.noise / atSD
	p[0].r = w * (q[across]*cos + q[down]*sin + q[radius] - s.at)
	p[0].own[0] = w
	p[0].common[across], p[0].common[down], p[0].common[radius] = -w*cos, -w*sin, -w
	w = k.noise / (inSD * k.span)
	p[1].r = w * (k.ref + k.span*q[metal] + q[over]*(k.around-s.out) - s.in)
	p[1].own[1], p[1].own[2] = w, w*q[over]
	p[1].common[metal], p[1].common[over] = -w*k.span, -w*(k.around-s.out)
	w = k.noise / riseSD
	p[2].r = -w * s.rise
	p[2].own[3] = w
	for i := range p {
		sum += p[i].r * p[i].r
	}
	if rows != nil {
		copy(rows[len(k.d):], p[:])
	}
	return sum
}

// cost returns what fit minimises.
func (k *calibration) cost() (sum float64) {
	edges := newFamily(k.sigma(), k.thin(), k.harden)
	for i := range k.sectors {
		sum += k.rows(&k.sectors[i], edges, nil)
	}
	for i, v := range k.common {
		d := (v - k.prior[i]) * k.noise / k.priorSD[i]
		sum += d * d
	}
	return sum
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
	k.noise = 0.02 * k.span
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
	return isFinite(now)
}

// equations sums the normal equations, their diagonals raised by lambda.
func (k *calibration) equations(lambda float64) (e normal, ok bool) {
	edges := newFamily(k.sigma(), k.thin(), k.harden)
	for i, v := range k.common {
		w := k.noise / k.priorSD[i]
		e.a[i][i] = w * w
		e.g[i] = w * w * (k.prior[i] - v)
	}
	rows := make([]row, len(k.d)+priors)
	e.blocks = make([]block, len(k.sectors))
	var raise [common]float64
	for n := range k.sectors {
		k.rows(&k.sectors[n], edges, rows)
		if !e.add(n, rows, lambda, &raise) {
			return e, false
		}
	}
	for i := range e.a {
		e.a[i][i] += lambda * raise[i]
	}
	return e, true
}

// add adds a sector, and eliminates its own parameters. raise sums the diagonal
// before that.
func (e *normal) add(n int, rows []row, lambda float64, raise *[common]float64) bool {
	var c [own][own]float64
	q := &e.blocks[n]
	for i := range rows {
		p := &rows[i]
		for x := range own {
			for y := range x + 1 {
				c[x][y] += p.own[x] * p.own[y]
			}
			for y := range common {
				q.b[x][y] += p.own[x] * p.common[y]
			}
			q.g[x] += p.own[x] * p.r
		}
		for x := range common {
			for y := range x + 1 {
				e.a[x][y] += p.common[x] * p.common[y]
			}
			raise[x] += p.common[x] * p.common[x]
			e.g[x] += p.common[x] * p.r
		}
	}
	for x := range own {
		for y := range x {
			c[y][x] = c[x][y]
		}
		c[x][x] = c[x][x]*(1+lambda) + 1e-12
	}
	q.inv = [own][own]float64{}
	if !gaussJordan(c[:], q.inv[:]) {
		return false
	}
	for x := range common {
		for u := range own {
			var t float64
			for v := range own {
				t += q.inv[u][v] * q.b[v][x]
			}
			for y := range common {
				if x <= y {
					e.a[y][x] -= q.b[u][y] * t
				}
			}
			e.g[x] -= t * q.g[u]
		}
	}
	return true
}

// solve returns the step of the common parameters.
func (e *normal) solve() (dp [common]float64, ok bool) {
	a := mat.NewSymDense(common, nil)
	for i := range common {
		for j := range i + 1 {
			a.SetSym(i, j, e.a[i][j])
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return dp, false
	}
	x := mat.NewVecDense(common, dp[:])
	// An ill-conditioned step is judged by what it gains.
	if err := chol.SolveVecTo(x, mat.NewVecDense(common, slices.Clone(e.g[:]))); err != nil {
		if _, condition := err.(mat.Condition); !condition {
			return dp, false
		}
	}
	return dp, isFinite(dp[:]...)
}

// stepped solves e and returns k moved by the solution, within bounds.
func (k *calibration) stepped(e normal) (next calibration, ok bool) {
	dp, ok := e.solve()
	if !ok {
		return next, false
	}
	next = *k
	for i := range dp {
		dp[i] = max(-0.5, min(dp[i], 0.5))
		next.common[i] += dp[i]
	}
	next.update()
	next.sectors = slices.Clone(k.sectors)
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
