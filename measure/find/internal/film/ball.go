package film

import (
	"math"
	"sync"

	"linerwatch/measure"
)

// Law is how the grey level changes inwards from the outline of a ball.
type Law int

const (
	// RootLaw is that of a ball that rays pass: the path at d inside its outline is
	// 2 sqrt(d (2 R - d)), and where that weakens a ray little the level follows it,
	// whatever the tone.
	RootLaw Law = iota
	// StepLaw is that of metal, behind which scatter alone arrives.
	StepLaw
)

// ballInside and ballOutside are how far a profile reaches to either side of the
// outline, as a share of the radius: some 0.35 and 1 mm on a head. Over so little the
// path grows to two tenths of that through the middle, so that the level still
// follows it, and what lies around is nearly a straight line. Tried by .ci/vary.
const (
	ballInside  = 0.025
	ballOutside = 0.07
)

// blurs are the blurs that are tried, as shares of the radius of the ball: 0.06 mm
// and more on a head, in steps by the root of two.
var blurs = [...]float64{0.0045, 0.0064, 0.009, 0.0127, 0.018, 0.0255}

// together is the length, px, over which the samples of a profile err as one: that of
// a pixel and of its share in the samples beside it.
const together = 2

// Sectors are the mean profiles of the sectors around a circle.
type Sectors struct {
	c        measure.Circle
	reach    float64
	d        []float64 // px outside the circle
	profiles [][]float64
}

// Sectors returns the mean profiles in n sectors, for edges within reach px of c. What
// is near the film's end is left out.
func (p *Patch) Sectors(c measure.Circle, n int, reach float64) Sectors {
	s := Sectors{c: c, reach: reach, profiles: make([][]float64, n)}
	for d := -ballInside*c.R - reach; d < ballOutside*c.R+reach; d += Step {
		s.d = append(s.d, d)
	}
	room := make([]float64, n*len(s.d))
	x, y := c.X-float64(p.X0)-0.5, c.Y-float64(p.Y0)-0.5
	from, to := c.R+s.d[0], c.R+s.d[len(s.d)-1]
	lines := max(1, int(2*math.Pi*c.R/float64(n)+0.5))
sectors:
	for i := range s.profiles {
		mean := room[i*len(s.d) : (i+1)*len(s.d)]
		for k := range lines {
			sin, cos := math.Sincos(2 * math.Pi * (float64(i) + (float64(k)+0.5)/float64(lines) - 0.5) / float64(n))
			if !p.holds(x+from*cos, y+from*sin) || !p.holds(x+to*cos, y+to*sin) {
				continue sectors
			}
			p.add(mean, x+from*cos, y+from*sin, Step*cos, Step*sin)
		}
		// A straight line, of what lies before and behind, is each sector's own.
		lessLine(mean)
		s.profiles[i] = mean
	}
	return s
}

// lessLine takes its straight line from a profile.
func lessLine(v []float64) {
	n := float64(len(v))
	var sum, slope float64
	for j, y := range v {
		sum += y
		slope += y * (float64(j) - (n-1)/2)
	}
	slope /= n * (n*n - 1) / 12
	for j := range v {
		v[j] -= sum/n + slope*(float64(j)-(n-1)/2)
	}
}

// Edges returns the place in each sector where the law fits best: a line of the
// sector's own plus a height of its own times the law, blurred by a Gaussian that all
// share. What departs from that gives each its standard error. Blur is in px, and
// misfit the mean logarithm of the share of the variance that is left: half of it times
// the number of samples is minus the logarithm of the likelihood.
func (s *Sectors) Edges(law Law) (edges []measure.Edge, blur, misfit float64) {
	misfit = math.Inf(1)
	for _, b := range blurs {
		e, m := s.edges(s.shapes(law, b*s.c.R))
		if m > misfit {
			break
		}
		edges, blur, misfit = e, b*s.c.R, m
	}
	return edges, blur, misfit
}

// shapes returns the law, blurred by sigma, with the outline at every step within
// reach, each less its line and of length one.
func (s *Sectors) shapes(law Law, sigma float64) [][]float64 {
	all := make([][]float64, int(2*s.reach/Step)+1)
	for k := range all {
		at := -s.reach + Step*float64(k)
		f := make([]float64, len(s.d))
		for j, d := range s.d {
			depth := at - d
			if law == StepLaw {
				f[j] = math.Erfc(-depth / sigma / math.Sqrt2)
			} else {
				f[j] = blurredRoot(depth/sigma) * math.Sqrt(1-max(0, depth)/(2*(s.c.R+at)))
			}
		}
		lessLine(f)
		var sum float64
		for _, v := range f {
			sum += v * v
		}
		for j := range f {
			f[j] /= math.Sqrt(sum)
		}
		all[k] = f
	}
	return all
}

// edges returns the place where one of the shapes fits best in each sector, and the
// misfit.
func (s *Sectors) edges(shapes [][]float64) (edges []measure.Edge, misfit float64) {
	n, m := len(s.profiles), 0
	edges = make([]measure.Edge, n)
	left := make([]float64, len(shapes))
	for i, y := range s.profiles {
		e := &edges[i]
		e.Angle = 360 * float64(i) / float64(n)
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		e.X, e.Y, e.Reject = s.c.X+s.c.R*cos, s.c.Y+s.c.R*sin, "off the film"
		if y == nil {
			continue
		}
		e.Reject = "no edge"
		var total float64
		for _, v := range y {
			total += v * v
		}
		best := 0
		for k, f := range shapes {
			var height float64
			for j, v := range f {
				height += v * y[j]
			}
			left[k] = total - max(0, height)*height
			if left[k] < left[best] {
				best, e.Strength = k, height
			}
		}
		if best == 0 || best == len(left)-1 {
			continue
		}
		a, b, c := left[best-1], left[best], left[best+1]
		bend := a - 2*b + c
		shift := 0.5 * (a - c) / bend
		if !(bend > 0) {
			continue
		}
		least := max(b-0.25*(a-c)*shift, 1e-9*total)
		r := s.c.R - s.reach + Step*(float64(best)+shift)
		e.X, e.Y, e.Reject = s.c.X+r*cos, s.c.Y+r*sin, ""
		e.SD = math.Sqrt(2 * least / float64(len(y)) * (together / Step) / bend * Step * Step)
		misfit += math.Log(least / total)
		m++
	}
	if m == 0 {
		return edges, math.Inf(1)
	}
	return edges, misfit / float64(m)
}

// roots is a table of blurredRoot.
const (
	rootFrom = -5.0
	rootTo   = 12.0
	rootStep = 0.1
)

// blurredRoot returns the mean of sqrt(max(0, d + z)) over a normal z.
func blurredRoot(d float64) float64 {
	if d <= rootFrom {
		return 0
	}
	if d >= rootTo-rootStep {
		return math.Sqrt(d) * (1 - 1/(8*d*d)) // the first terms of its series
	}
	t := roots()
	f := (d - rootFrom) / rootStep
	i := int(f)
	return t[i] + (f-float64(i))*(t[i+1]-t[i])
}

var roots = sync.OnceValue(func() []float64 {
	t := make([]float64, int((rootTo-rootFrom)/rootStep)+1)
	for i := range t {
		d := rootFrom + rootStep*float64(i)
		// With u² = d + z the integrand is smooth.
		const step = 0.05
		for u := step / 2; u*u < d+7; u += step {
			t[i] += step * 2 * u * u * math.Exp(-(u*u-d)*(u*u-d)/2) / math.Sqrt(2*math.Pi)
		}
	}
	return t
})
