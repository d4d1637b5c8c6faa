package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// ringModel fits the picture of a whole wire ring to the Laplacian of a film:
// both lines together where they merge, and the bright ends where the rays run
// along the wire. What is hidden by wide metal does not count. Lengths are in
// cells of the map.
type ringModel struct {
	m *ringMap
	ringPicture

	ringSearch
}

// ringMatch is how the pictures for one theta match the film.
type ringMatch struct {
	theta    ringTheta
	gain     [2]float64
	explains float64       // sum of squares
	rest     float64       // sum of squares near the ring that is left
	share    float64       // explained of the sum of squares near the ring that is not noise
	line     float64       // logarithm of the likelihood ratio of a line along it
	cells    int           // near the ring and not hidden
	cov      [5][5]float64 // of centre, half axes and angle, cells and radians
}

// mostDescents bounds the steps of a descent; most take five to eight.
const mostDescents = 15

func (s ringSearch) newModel(m *ringMap) *ringModel {
	return &ringModel{ringSearch: s, m: m, ringPicture: ringPicture{w: m.W, h: m.H, depth: m.depth}}
}

// weight is what a match counts in the choice between matches.
func (k ringMatch) weight() float64 { return k.explains * k.share }

// sure is what speaks for a match: the logarithm of the likelihood ratio of its picture
// against noise alone, for two cells that noise changes each for itself, and that of
// the line along it. The first is for what is around the line as well, where there may
// be an edge of cement that tells nothing; the second for the line alone, which others
// have as well, and for less of it the narrower the ring. So the second counts by how
// far the two make up for each other on films without a ring.
func (k ringMatch) sure() float64 { return -math.Log1p(-k.share) + k.line/lineWorth }

// lineWorth is from films of native hips and of shells, as ringByChance; tried by .ci/vary.
const lineWorth = 100

// match finds the gains of the pictures for t.
func (r *ringModel) match(t ringTheta) (k ringMatch) {
	k.theta = t
	e := r.m.ellipse(t)
	if !r.allows(e, 1.5) {
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
			k.cells++
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
	k.rest = ff - k.explains
	noise := r.m.noise * float64(k.cells)
	k.share = k.explains / (k.explains + max(0, k.rest-noise) + r.m.noise*math.Sqrt(4*math.Pi*float64(k.cells))*t[5])
	return k
}

// descend improves a match by Levenberg and Marquardt's method, the gains solved
// for after each step.
func (r *ringModel) descend(t ringTheta) (best ringMatch, ok bool) {
	t[3] = max(t[3], ringThin)
	best = r.match(t)
	var normal [8]ringRow // of best
	var g ringRow
	known := false
	damp := 0.01
	for range mostDescents {
		if best.explains <= 0 {
			return best, false
		}
		if !known {
			normal, g = r.normal(best)
			known = true
		}
		a := normal
		for i := range best.theta {
			a[i][i] *= 1 + damp
		}
		step, ok := fit.Solve(a[:], g)
		if !ok {
			return best, false
		}
		next := best.theta
		size := 0.0
		for i := range next {
			d := max(-1, min(1, step[i]))
			if i == 4 {
				d = max(-0.03, min(0.03, step[i]))
			}
			next[i] += d
			if i < 3 {
				size = max(size, math.Abs(d))
			}
		}
		next[3], next[5] = max(math.Abs(next[3]), ringThin), max(0.8*t[5], min(1.35*t[5], next[5]))
		k := r.match(next)
		if k.explains > best.explains {
			best, known = k, false
			damp = max(1e-6, damp/5)
		} else if damp *= 8; damp > 1e3 {
			break
		}
		if size < 0.01 {
			break
		}
	}
	return best, true
}

// ringThin is the short half axis, in cells, below which none is told: a ring
// edge-on looks the same to first order, whichever way it opens.
const ringThin = 0.01

// ringRow holds a number for each of theta and for the two gains.
type ringRow [8]float64

// normal returns the matrix, its lower half, and the right side of the normal equations.
func (r *ringModel) normal(k ringMatch) (sums [8]ringRow, rest ringRow) {
	r.draw(k.theta)
	r.slopes(k.theta, k.gain)
	var row ringRow
	for y, from := range r.from {
		for x := from; x < r.to[y]; x++ {
			i := y*r.w + x
			if row[6], row[7] = r.a[i], r.b[i]; row[6] == 0 || r.m.hidden[i] {
				continue
			}
			copy(row[:], r.slope[r.first[y]+x][:])
			left := float64(r.m.bend[i]) - k.gain[0]*row[6] - k.gain[1]*row[7]
			for p, v := range row {
				rest[p] += v * left
				for q := range p + 1 {
					sums[p][q] += v * row[q]
				}
			}
		}
	}
	sums[6][6] *= 1.0001 // the pictures of a round ring are alike
	sums[7][7] *= 1.0001
	return sums, rest
}

// misfit is the part of a ring's residuals that moves it as noise would; the rest
// departs from the picture evenly. Tried by .ci/vary.
const misfit = 0.2

// covariance returns that of centre, half axes and angle: that part of the
// residuals' variance times the cells that one blurred point of noise spreads
// over.
func (r *ringModel) covariance(k ringMatch) (cov [5][5]float64, ok bool) {
	m, _ := r.normal(k)
	var inv [8]ringRow
	if !fit.GaussJordan(m[:], inv[:]) {
		return cov, false
	}
	variance := k.rest / float64(k.cells) * misfit * 4 * math.Pi * k.theta[5] * k.theta[5]
	for i := range cov {
		for j := range cov[i] {
			cov[i][j] = inv[i][j] * variance
		}
	}
	return cov, measure.Finite(cov[0][0], cov[1][1], cov[2][2])
}

// ends returns the best theta with either end of the long axis moved by some
// units: the cement's edge goes on where the wire ends.
func (r *ringModel) ends(k ringMatch, unit float64) ringTheta {
	best := ringMatch{theta: k.theta}
	sin, cos := math.Sincos(k.theta[4])
	for _, end := range []float64{-1, 1, 0} { // one, the other, both
		for _, d := range []float64{-4.8, -3.6, -2.4, -1.2, 1.2, 2.4} {
			t, move := k.theta, d/2*unit
			if end == 0 {
				t[2] += 2 * move
			} else {
				t[0], t[1], t[2] = t[0]+end*move*cos, t[1]+end*move*sin, t[2]+move
			}
			if other := r.match(t); other.weight() > best.weight() {
				best = other
			}
		}
	}
	return best.theta
}
