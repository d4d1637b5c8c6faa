package film

import (
	"math"

	"linerwatch/measure"
)

// Step is the distance between the samples of a profile, px.
const Step = 0.5

// Scan looks along n radial profiles of a circle, from inner to outer px from
// its centre.
type Scan struct {
	Center       measure.Point
	Inner, Outer float64
	N            int     // profiles
	Across       int     // each profile is the mean of 2 across + 1, one px apart
	Around       int     // and then the mean with so many neighbours on either side
	Sigma        float64 // of the Gaussian before the slope is taken, px
}

// Ray is one profile: where it points and the falls of the grey level on it.
type Ray struct {
	sin, cos float64
	Off      bool    // it leaves the film before its outer end
	To       float64 // px from the scan's centre as far as slopes are known
	Falls    []Fall
}

// Fall is a place where the grey level falls fastest going outward.
type Fall struct {
	At       float64 // px from the scan's centre
	Strength float64 // fall, grey levels per px
}

// Point returns the place on the ray at px from c, the centre of its scan.
func (r Ray) Point(c measure.Point, at float64) measure.Point {
	return measure.Point{X: c.X + at*r.cos, Y: c.Y + at*r.sin}
}

// Run samples the profiles and finds the falls on each.
func (s Scan) Run(p *Patch) []Ray {
	half := int(math.Ceil(3 * s.Sigma / Step))
	kernel := slopeKernel(s.Sigma, half)
	m := int(math.Ceil((s.Outer-s.Inner)/Step)) + 1
	rays := make([]Ray, s.N)
	for i := range rays {
		rays[i].sin, rays[i].cos = math.Sincos(2 * math.Pi * float64(i) / float64(s.N))
	}
	size := m + 2*half
	profiles, valid := make([][]float64, s.N), make([]int, s.N)
	InBands(s.N, func(first, last int) {
		room := make([]float64, (last-first)*size)
		for i := first; i < last; i++ {
			profiles[i], room = room[:size], room[size:]
			valid[i] = s.sample(p, &rays[i], profiles[i], s.Inner-Step*float64(half))
		}
	})
	InBands(s.N, func(first, last int) {
		f := s.falls(kernel, m, last-first)
		mean, count := make([]float64, size), make([]float64, size)
		for i := first; i < last; i++ {
			profile := profiles[i]
			if s.Around > 0 {
				average(mean, count, profiles, valid, i, s.Around)
				profile = mean
			}
			f.find(&rays[i], profile, valid[i])
		}
	})
	return rays
}

// falls finds the falls on profiles.
type falls struct {
	Scan
	kernel, slope []float64
	all           []Fall
}

func (s Scan) falls(kernel []float64, samples, rays int) *falls {
	return &falls{s, kernel, make([]float64, samples), make([]Fall, 0, 8*rays)}
}

// find sets the falls of a ray from its profile, of which so many samples are valid.
func (f *falls) find(r *Ray, profile []float64, valid int) {
	slope := f.slope[:max(0, valid-2*len(f.kernel))]
	r.Off = len(slope) < len(f.slope)
	r.To = f.Inner + Step*float64(len(slope)-1)
	falling(slope, profile, f.kernel)
	had := len(f.all)
	f.all = f.peaks(f.all, slope)
	r.Falls = f.all[had:len(f.all):len(f.all)]
}

// average fills mean with the mean of profile i and so many neighbours on either
// side, each as far as it is on the film; count has room for how many that are.
func average(mean, count []float64, profiles [][]float64, valid []int, i, around int) {
	n := len(profiles)
	clear(mean)
	clear(count)
	for k := i - around; k <= i+around; k++ {
		k := (k + n) % n
		for j, v := range profiles[k][:valid[k]] {
			mean[j] += v
			count[j]++
		}
	}
	for j := range mean {
		mean[j] /= max(1, count[j])
	}
}

// sample fills a profile from the radius from on, and returns how many of its
// samples are on the film.
func (s Scan) sample(p *Patch, r *Ray, profile []float64, from float64) int {
	n := p.Along(r.Point(s.Center, from), measure.Point{X: r.cos, Y: r.sin}, Step, s.Across, profile)
	for j := range n {
		profile[j] /= float64(2*s.Across + 1)
	}
	return n
}

// Along fills a profile from a place on along the unit vector u, in steps of so many px,
// with the sums of 2 across + 1 levels side by side, one px apart, and returns for how
// many of its samples all of them lie on p.
func (p *Patch) Along(from, u measure.Point, pitch float64, across int, profile []float64) int {
	x, y, wide := from.X-float64(p.X0)-0.5, from.Y-float64(p.Y0)-0.5, float64(across)
	on := func(n int) bool { // a row of levels
		at := pitch * float64(n)
		return p.holds(x+at*u.X+wide*u.Y, y+at*u.Y-wide*u.X) && p.holds(x+at*u.X-wide*u.Y, y+at*u.Y+wide*u.X)
	}
	n := len(profile)
	for n > 0 && !(on(0) && on(n)) {
		n--
	}
	clear(profile)
	for k := -wide; k <= wide; k++ {
		p.add(profile[:n], x-k*u.Y, y+k*u.X, pitch*u.X, pitch*u.Y)
	}
	return n
}

// add adds to a profile p's levels from (x, y) on, counted from the centre of p's
// first pixel, in steps of (dx, dy), all of which p holds. Places are counted in whole
// parts of a pixel, which needs no rounding.
func (p *Patch) add(profile []float64, x, y, dx, dy float64) {
	const one = 1 << 32
	ix, iy, sx, sy := int64(x*one), int64(y*one), int64(dx*one), int64(dy*one)
	v, w := p.V, p.W
	for j := range profile {
		fx, fy := float64(ix&(one-1))/one, float64(iy&(one-1))/one
		i := int(iy>>32)*w + int(ix>>32)
		upper, lower := v[i:i+2], v[i+w:i+w+2]
		a, c := float64(upper[0]), float64(lower[0])
		top, bottom := a+fx*(float64(upper[1])-a), c+fx*(float64(lower[1])-c)
		profile[j] += top + fy*(bottom-top)
		ix, iy = ix+sx, iy+sy
	}
}

// peaks appends the local maxima of slope, placed by a parabola through three
// samples.
func (s Scan) peaks(falls []Fall, slope []float64) []Fall {
	for j := 1; j+1 < len(slope); j++ {
		a, b, c := slope[j-1], slope[j], slope[j+1]
		if !(b > 0 && b >= a && b > c) {
			continue
		}
		shift := 0.5 * (a - c) / (a - 2*b + c)
		falls = append(falls, Fall{At: s.Inner + Step*(float64(j)+shift), Strength: b - 0.25*(a-c)*shift})
	}
	return falls
}

// slopeKernel returns the derivative of a Gaussian after its middle, scaled so that
// a ramp of one grey level per px gives one; before its middle it is minus that.
func slopeKernel(sigma float64, half int) []float64 {
	k := make([]float64, half)
	var ramp float64
	for i := range k {
		x := Step * float64(i+1)
		k[i] = x * math.Exp(-x*x/(2*sigma*sigma))
		ramp += 2 * x * k[i]
	}
	for i := range k {
		k[i] /= ramp
	}
	return k
}

// falling fills slope with the fall of a profile, from the sample on that has as
// many before it as the kernel is long.
func falling(slope, profile, kernel []float64) {
	half, n := len(kernel), len(slope)
	clear(slope)
	for k := 0; k < half; k += 2 { // two at a time, in sums side by side that do not wait for each other
		v, w, next := kernel[k], 0.0, k
		if k+1 < half {
			w, next = kernel[k+1], k+1
		}
		before, after := profile[half-1-k:][:n], profile[half+1+k:][:n]
		before2, after2 := profile[half-1-next:][:n], profile[half+1+next:][:n]
		for j := range slope {
			slope[j] = slope[j] + v*(before[j]-after[j]) + w*(before2[j]-after2[j])
		}
	}
}

// Smoothing returns the scale of the slope filter for a circle of radius r px:
// about 0.15 mm on a head, from what a pixel allows to what a film's blur asks for; tried
// by .ci/vary.
func Smoothing(r float64) float64 { return max(1, min(r/70, 2.5)) }

// Median returns the median of v, which it reorders; 0 where v is empty.
func Median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	return Smallest(v, len(v)/2)
}

// Smallest returns what v, which it reorders, would have at k if it was sorted, by
// Hoare's selection: what lies before k is then not larger, what lies after it not
// smaller.
func Smallest[T float32 | float64](v []T, k int) T {
	for from, to := 0, len(v)-1; from < to; {
		pivot := v[(from+to)/2]
		i, j := from, to
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			to = j
		case k >= i:
			from = i
		default:
			return v[k]
		}
	}
	return v[k]
}
