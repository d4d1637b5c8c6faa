package film

import (
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// block is what a sector adds to the normal equations: its own part, the part it
// shares with the common parameters, and its gradient; and the inverse of its own
// part, once that is damped.
type block struct {
	c, inv [own][own]float64
	b      [own][common]float64
	g      [own]float64
}

// sums adds the samples of a sector's profile to the normal equations.
func (k *Calibration) sums(s *sector, edge *blurred, e *normal, q *block) {
	in, out := math.Exp(k.depth(s.in)), math.Exp(k.depth(s.out))
	_, sin, inBent := k.show(in)
	_, sout, outBent := k.show(out)
	// Changes of the intensities by log gain and bend at the same levels.
	inGain, outGain := -in*(k.ref-s.in)/sin, -out*(k.ref-s.out)/sout
	inBend, outBend := in*inBent/sin, out*outBent/sout
	saturates := !math.IsInf(k.cut, 1)
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
		level, fall, bent := k.show(i)
		v, pass := level, 1.0
		if saturates {
			v, pass = below(v, k.cut, k.photons*fall/math.Sqrt(i))
		}
		g := -fall / i * pass
		e.add(q, s.v[j]-v, [own]float64{
			-g * (step*slope + share*out*s.rise*beyond),
			-g * (1 - share) * in / sin,
			-g * share * lift * out / sout,
			g * share * out * outside,
		}, []float64{
			logGain:  pass*(level-k.ref) + g*((1-share)*inGain+share*lift*outGain),
			bend:     pass*bent + g*((1-share)*inBend+share*lift*outBend),
			logSigma: g * step * (turn/2 - x*slope),
			logDepth: -g * step * turn / 2,
		})
	}
}

// hold adds to the normal equations what holds a sector's own parameters near
// what the other sectors say: the outline near one circle, the level of metal near
// a straight line in the level around it, and the level around nearly even.
func (k *Calibration) hold(s *sector, e *normal, q *block) {
	sin, cos := math.Sincos(s.angle * math.Pi / 180)
	p := k.common
	w := k.noise / atSD
	e.add(q, w*(p[across]*cos+p[down]*sin+p[radius]-s.at), [own]float64{w},
		[]float64{across: -w * cos, down: -w * sin, radius: -w})
	w = k.noise / (inSD * k.span)
	e.add(q, w*(k.ref+k.span*p[metal]+p[over]*(k.around-s.out)-s.in), [own]float64{0, w, w * p[over]},
		[]float64{metal: -w * k.span, over: -w * (k.around - s.out)})
	w = k.noise / riseSD
	e.add(q, -w*s.rise, [own]float64{3: w}, nil)
}

// normal holds what fit minimises and its normal equations, those of each sector
// apart.
type normal struct {
	cost   float64
	a      [common][common]float64 // lower half
	g      [common]float64
	data   [common]float64 // what all but the common priors add to the diagonal
	blocks []block
}

// fit minimises the squared residuals by Levenberg-Marquardt, with each
// sector's own parameters eliminated.
func (k *Calibration) fit(turns int) bool {
	k.noise = 0.02 * k.span
	lambda := 1e-3
	now := k.equations()
	for range turns {
		next, ok := k.stepped(now, lambda)
		if !ok {
			return false
		}
		then := next.equations()
		if then.cost < now.cost {
			gain := now.cost - then.cost
			*k, now = next, then
			lambda = max(lambda/10, 1e-9)
			if gain < 1e-4*now.cost {
				break
			}
		} else if lambda *= 10; lambda > 1e6 {
			break
		}
	}
	return measure.Finite(now.cost)
}

func (k *Calibration) equations() *normal {
	edge := k.edge()
	e := &normal{blocks: make([]block, len(k.sectors))}
	for n := range k.sectors {
		k.sums(&k.sectors[n], edge, e, &e.blocks[n])
		k.hold(&k.sectors[n], e, &e.blocks[n])
	}
	for i, v := range k.common {
		e.data[i] = e.a[i][i]
		w := k.noise / k.priorSD[i]
		d := w * (k.prior[i] - v)
		e.a[i][i] += w * w
		e.g[i] += w * d
		e.cost += d * d
	}
	return e
}

// add adds a residual with its derivatives, of the model and not of the residual,
// by a sector's own parameters and by the first of the common ones; the others do not
// move it.
func (e *normal) add(q *block, r float64, own [own]float64, common []float64) {
	e.cost += r * r
	for x, d := range own {
		for y := range x + 1 {
			q.c[x][y] += d * own[y]
		}
		for y, f := range common {
			q.b[x][y] += d * f
		}
		q.g[x] += d * r
	}
	for x, d := range common {
		for y := range x + 1 {
			e.a[x][y] += d * common[y]
		}
		e.g[x] += d * r
	}
}

// damped raises the diagonals by lambda and returns what is left for the common
// parameters when each sector's own are eliminated.
func (e *normal) damped(lambda float64) (a [common][common]float64, g [common]float64, ok bool) {
	a, g = e.a, e.g
	for n := range e.blocks {
		q := &e.blocks[n]
		c := q.c
		for x := range own {
			c[x][x] = c[x][x]*(1+lambda) + 1e-12
		}
		q.inv = [own][own]float64{}
		if !fit.GaussJordan(c[:], q.inv[:]) {
			return a, g, false
		}
		for x := range common {
			for u := range own {
				var t float64
				for v := range own {
					t += q.inv[u][v] * q.b[v][x]
				}
				for y := x; y < common; y++ {
					a[y][x] -= q.b[u][y] * t
				}
				g[x] -= t * q.g[u]
			}
		}
	}
	for i := range a {
		a[i][i] += lambda * e.data[i]
	}
	return a, g, true
}

// stepped solves e, damped by lambda, and returns k moved by the solution, within
// bounds.
func (k *Calibration) stepped(e *normal, lambda float64) (next Calibration, ok bool) {
	a, g, ok := e.damped(lambda)
	if !ok {
		return next, false
	}
	dp, ok := fit.Solve(a[:], g)
	if !ok || !measure.Finite(dp[:]...) {
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
