package film

import (
	"math"

	"linerwatch/measure"
)

// sector is the mean profile over some degrees of an outline.
type sector struct {
	angle   float64   // of its middle, degrees
	v       []float64 // grey levels at Calibration.d
	at      float64   // of the outline, px outside the fitted circle
	in, out float64   // levels of metal and of what lies around
	rise    float64   // relative change of the intensity outside, per px
}

// Calibration finds the tone of a film and the blur of an edge from the shape
// of the profiles around one outline: the tone common to weak and strong
// contrast is the one in which all are a blurred step of intensity, and all
// steps lie on one circle. Where a film is clipped, what the clipped part of a
// profile would show follows from the other sectors and from the circle.
type Calibration struct {
	tone
	common  [common]float64
	d       []float64 // px outside the circle
	sectors []sector
	span    float64 // largest contrast seen, levels
	around  float64 // mean level around the outline
	cut     float64 // level at which the film saturates
	Clipped float64 // share of the sectors whose metal is saturated
	rough   float64 // standard deviation of a pixel's noise at the level around
	photons float64 // rough over the slope and over the root of the inverse intensity there
	noise   float64 // residual standard deviation, levels

	prior, priorSD [common]float64
}

// The parameters that all sectors share.
const (
	logGain  = iota
	bend     // of the tone
	logSigma // of the blurred edge, px
	logDepth // at which metal weakens a ray of 60 keV to 1/e, px
	metal    // level of metal at the mean level around over ref, as a share of span
	over     // fall of the level of metal with the level around: enhancement overshoots
	across   // the outline's circle against the one that the profiles start from, px
	down
	radius
	common
)

// The parameters of each sector are at, in, out and rise.
const own = 4

// Standard deviations of the priors of a sector's parameters; tried by .ci/vary.
const (
	atSD   = 0.2  // px, from the circle
	inSD   = 0.1  // of the level of metal from the line, as a share of span
	riseSD = 0.01 // per px
)

// update brings the tone up to date with the common parameters.
func (k *Calibration) update() {
	k.common[bend] = max(leastBend, min(k.common[bend], mostBend))
	k.gain, k.bend = math.Exp(k.common[logGain]), k.common[bend]
	i := math.Exp(k.depth(k.around))
	_, slope, _ := k.show(i)
	k.photons = k.rough / slope * math.Sqrt(i)
}

// Sigma returns the blur of the edge, px.
func (k *Calibration) Sigma() float64 { return math.Exp(k.common[logSigma]) }

// edge returns the profile of the edge that k has come to.
func (k *Calibration) edge() *blurred { return newBlurred(k.Sigma(), math.Exp(k.common[logDepth])) }

// newCalibration averages the profiles of the kept edges in sectors.
func newCalibration(film *Patch, c measure.Circle, edges []measure.Edge, sigma float64, part measure.Part) (*Calibration, bool) {
	const n = 24 // sectors: as long as blocks of edges that err together
	k := &Calibration{cut: film.Top()}
	const step = 2 * Step // a mean over many directions needs no finer one
	for j := -int(math.Ceil((6*sigma + 2) / step)); step*float64(j) <= 4*sigma+1; j++ {
		k.d = append(k.d, step*float64(j))
	}
	sums, count := make([][]float64, n), make([]int, n)
	p := make([]float64, len(k.d))
rays:
	for i := range edges {
		if edges[i].Reject != "" {
			continue
		}
		sin, cos := math.Sincos(edges[i].Angle * math.Pi / 180)
		for j, d := range k.d {
			v, ok := film.At(c.X+(c.R+d)*cos, c.Y+(c.R+d)*sin)
			if !ok {
				continue rays
			}
			p[j] = v
		}
		s := int(edges[i].Angle/360*n) % n
		if sums[s] == nil {
			sums[s] = make([]float64, len(k.d))
		}
		for j, v := range p {
			sums[s][j] += v
		}
		count[s]++
	}
	for s, sum := range sums {
		if count[s]*3*n < len(edges) { // a third of the sector
			continue
		}
		for j := range sum {
			sum[j] /= float64(count[s])
		}
		m := len(sum)
		q := sector{angle: 360 * (float64(s) + 0.5) / n, v: sum, in: (sum[0] + sum[1]) / 2, out: (sum[m-1] + sum[m-2]) / 2}
		if !(q.in > q.out) {
			continue
		}
		k.ref, k.span = max(k.ref, q.in), max(k.span, q.in-q.out)
		k.sectors = append(k.sectors, q)
	}
	if len(k.sectors) < 4 {
		return nil, false
	}
	k.rough = film.Roughness(c, edges, 2*sigma, 4*sigma+1)
	k.expect(c, sigma, part)
	return k, true
}

// expect sets where the fit starts, and its priors.
func (k *Calibration) expect(c measure.Circle, sigma float64, part measure.Part) {
	n := float64(len(k.sectors))
	var in float64
	for _, s := range k.sectors {
		in += s.in / n
		k.around += s.out / n
		if s.in > k.cut-0.02*k.span {
			k.Clipped += 1 / n
		}
	}
	// Metal lets scatter through alone, a third of the signal beside it or less.
	contrast := 1.1
	mu, mm := 1.0, 15.0 // per mm at 60 keV, of cobalt-chromium; mm
	if part == measure.Cup {
		mu, mm = 0.33, 27 // titanium
		contrast = 0.7    // behind bone
	}
	// A clipped film shows a part of the contrast, and not the shoulder of its tone.
	k.common = [common]float64{
		logGain:  math.Log(k.span/contrast) + 0.4*k.Clipped,
		bend:     0.2 * (1 - k.Clipped),
		logSigma: math.Log(sigma),
		logDepth: math.Log(c.R / mm / (8 * mm * mu * mu)),
		metal:    (in - k.ref) / k.span,
	}
	k.prior = k.common
	k.priorSD = [common]float64{
		logGain: 0.1 + 0.2*k.Clipped, bend: 0.05 + 0.15*k.Clipped, logSigma: 0.5, logDepth: 0.1,
		metal: 10, over: 0.3, across: 5, down: 5, radius: 5,
	}
	k.update()
}

// Calibrate fits the tone in two steps, the second with profiles as long as the
// blur found in the first asks for.
func Calibrate(film *Patch, c measure.Circle, edges []measure.Edge, part measure.Part) (k *Calibration, ok bool) {
	k, ok = newCalibration(film, c, edges, max(0.7, 0.6*Smoothing(c.R)), part)
	if !ok || !k.fit(5) {
		return nil, false
	}
	k, ok = newCalibration(film, c, edges, max(0.4, k.Sigma()), part)
	if !ok || !k.fit(12) {
		return nil, false
	}
	return k, true
}

// Linear makes film linear near c.
func (k *Calibration) Linear(film *Patch, c measure.Circle, reach float64) Patch {
	low := math.Inf(1)
	for _, s := range k.sectors {
		low = min(low, s.out)
	}
	return k.tone.linear(film, c, reach, low-0.5*(k.ref-low), k.ref+0.3*(k.ref-low))
}
