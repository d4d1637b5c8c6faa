package measure

import (
	"math"
	"slices"
)

// sector is the mean profile over some degrees of an outline.
type sector struct {
	angle   float64   // of its middle, degrees
	v       []float64 // grey levels at calibration.d
	at      float64   // of the outline, px outside the fitted circle
	in, out float64   // levels of metal and of what lies around
	drop    float64   // how much more it is dimmed outside than the brightest sector, logarithm
	rise    float64   // relative change of the intensity outside, per px
}

// calibration finds the tone of a film and the blur of an edge from the shape
// of the profiles around one outline: the tone common to weak and strong
// contrast is the one in which all are a blurred step of intensity.
type calibration struct {
	tone
	sigma, depth float64   // of the blurred edge, px
	d            []float64 // px outside the circle
	sectors      []sector
	cut          float64 // level at which the film saturates
	harden       bool
	noise        float64 // residual standard deviation, levels
	prior        [common]float64
}

// The parameters that all sectors share, of which the logarithm of gain, sigma
// and depth is fitted; and those of each sector.
const (
	common = 4
	own    = 4
)

// sd of the priors of log gain, bend, log sigma and log depth.
var priorSD = [common]float64{0.1, 0.05, 0.5, 0.1}

func (k *calibration) get() [common]float64 {
	return [common]float64{math.Log(k.gain), k.bend, math.Log(k.sigma), math.Log(k.depth)}
}

func (k *calibration) set(p [common]float64) {
	k.gain, k.bend = math.Exp(p[0]), max(leastBend, min(p[1], mostBend))
	k.sigma, k.depth = math.Exp(p[2]), math.Exp(p[3])
}

// newCalibration averages the profiles of the kept edges in sectors.
func newCalibration(film *patch, c Circle, edges []Edge, sigma float64, part Part) (*calibration, bool) {
	const n = 24
	k := &calibration{cut: film.top()}
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
			v, ok := film.at(c.X+(c.R+d)*cos, c.Y+(c.R+d)*sin)
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
	var most float64
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
		k.ref, most = max(k.ref, q.in), max(most, q.in-q.out)
		k.sectors = append(k.sectors, q)
	}
	if len(k.sectors) < 4 {
		return nil, false
	}
	// Metal lets scatter through alone, a third of the signal beside it or less.
	k.gain, k.bend = most/1.1, 0.2
	k.sigma = sigma
	mu, radius := 1.0, 15.0 // per mm at 60 keV, of cobalt-chromium; mm
	k.harden = part == Head // the shell weakens the beam beside the head
	if part == Cup {
		mu, radius = 0.33, 27 // titanium
		k.gain = most / 0.7   // behind bone
	}
	k.depth = c.R / radius / (8 * radius * mu * mu)
	k.prior = k.get()
	return k, true
}

// top returns the level at which p saturates: its largest, where more than one
// pixel in 500 has it, else infinity.
func (p *patch) top() float64 {
	var most float32
	n := 0
	for _, v := range p.v {
		if v > most {
			most, n = v, 0
		}
		if v == most {
			n++
		}
	}
	if n*500 < len(p.v) {
		return math.Inf(1)
	}
	return float64(most)
}

// calibrate fits the tone in two steps, the second with profiles as long as the
// blur found in the first asks for.
func calibrate(film *patch, c Circle, edges []Edge, part Part) (k *calibration, kind edgeKind) {
	k, ok := newCalibration(film, c, edges, max(0.7, 0.6*smoothing(c.R)), part)
	switch {
	case !ok:
		return nil, unknownEdge
	case part == Head && k.rising() > 0.15:
		return nil, softEdge
	case !k.fit(5):
		return nil, unknownEdge
	}
	k, ok = newCalibration(film, c, edges, max(0.4, k.sigma), part)
	if !ok || !k.fit(12) {
		return nil, unknownEdge
	}
	return k, metalEdge
}

// edgeKind says how intensity changes across an outline.
type edgeKind int

const (
	unknownEdge edgeKind = iota
	metalEdge            // a step: metal lets hardly anything through
	softEdge             // the root of the distance, the path through a ball of ceramic
)

// rising returns by how much of the contrast the grey level still rises over
// the inner half of the profiles: hardly for metal, by 0.3 for a ball that lets
// through so much that the path in it counts.
func (k *calibration) rising() float64 {
	inner := 0
	for k.d[inner] < 0 {
		inner++
	}
	var rise, contrast float64
	for _, s := range k.sectors {
		rise += (s.v[0] + s.v[1] + s.v[2] - s.v[inner/2-1] - s.v[inner/2] - s.v[inner/2+1]) / 3
		contrast += s.in - s.out
	}
	return rise / contrast
}

// linear makes film linear near c.
func (k *calibration) linear(film *patch, c Circle, reach float64) patch {
	low := math.Inf(1)
	for _, s := range k.sectors {
		low = min(low, s.out)
	}
	return k.tone.linear(film, c, reach, low-0.5*(k.ref-low), k.ref+0.3*(k.ref-low))
}

// correct moves edges found on the linear film to the outline. On a circle the
// middle of a blurred step lies sigma²/(2 R) inside.
func (k *calibration) correct(edges []Edge, c Circle, sigma float64) {
	insets := k.insets(len(edges), sigma)
	curve := (k.sigma*k.sigma + sigma*sigma) / (2 * c.R)
	for i := range edges {
		e := &edges[i]
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		e.X += (curve - insets[i]) * cos
		e.Y += (curve - insets[i]) * sin
	}
}

// inset returns where a scan of the linear film with a Gaussian sigma finds the
// edge of a sector, px outside its outline: metal lets hard rays through near
// the outline, and tissue around it has a slope of its own.
func (k *calibration) inset(s *sector, edge *blurred, sigma float64) float64 {
	half := int(math.Ceil(3 * sigma / step))
	kernel := slopeKernel(sigma, half)
	reach := int(math.Ceil(2 * (sigma + k.sigma) / step))
	in, out := math.Exp(k.tone.depth(s.in)), math.Exp(k.tone.depth(s.out))
	floor := 0.0
	if !math.IsInf(k.cut, 0) {
		floor = math.Exp(k.tone.depth(k.cut))
	}
	profile := make([]float64, 2*(reach+half)+1)
	for j := range profile {
		d := step * float64(j-reach-half)
		share, _ := edge.at(d)
		profile[j] = -max(floor, in+(out*(1+s.rise*max(0, d))-in)*share)
	}
	slope := make([]float64, 2*reach+1)
	best := 0
	for j := range slope {
		for i, w := range kernel {
			slope[j] -= w * profile[j+i]
		}
		if slope[j] > slope[best] {
			best = j
		}
	}
	if best == 0 || best == len(slope)-1 {
		return 0
	}
	a, b, c := slope[best-1], slope[best], slope[best+1]
	return step*float64(best-reach) + step*0.5*(a-c)/(a-2*b+c)
}

// kept is the part of an inset's departure from the mean around an outline that
// is corrected: what is gained for one film, noise in the sectors takes from the
// difference of two.
const kept = 0.7

// insets returns the inset at n directions around the outline.
func (k *calibration) insets(n int, sigma float64) []float64 {
	edge := newFamily(k.sigma, k.depth, k.harden)
	type place struct{ angle, inset float64 }
	var at []place
	for i := range k.sectors {
		at = append(at, place{k.sectors[i].angle, k.inset(&k.sectors[i], edge.of(k.sectors[i].drop), sigma)})
	}
	for range 6 { // smooth
		was := slices.Clone(at)
		for i := range at {
			l, r := was[(i+len(at)-1)%len(at)], was[(i+1)%len(at)]
			at[i].inset = (l.inset + 2*was[i].inset + r.inset) / 4
		}
	}
	var mean float64
	for _, p := range at {
		mean += p.inset / float64(len(at))
	}
	for i := range at {
		at[i].inset = mean + kept*(at[i].inset-mean)
	}
	out := make([]float64, n)
	for i := range out {
		a := 360 * float64(i) / float64(n)
		j := 0 // the first sector after a
		for j < len(at) && at[j].angle <= a {
			j++
		}
		l, r := at[(j+len(at)-1)%len(at)], at[j%len(at)]
		span, far := math.Mod(r.angle-l.angle+360, 360), math.Mod(a-l.angle+360, 360)
		t := 0.5
		if span > 0 {
			t = far / span
		}
		out[i] = l.inset + t*(r.inset-l.inset)
	}
	return out
}

// weaken sets how much more the beam is weakened outside each sector than
// outside the brightest.
func (k *calibration) weaken() {
	if !k.harden {
		return
	}
	var brightest float64
	for i := range k.sectors {
		k.sectors[i].drop = k.tone.depth(k.sectors[i].out)
		brightest = max(brightest, k.sectors[i].drop)
	}
	for i := range k.sectors {
		k.sectors[i].drop = brightest - k.sectors[i].drop
	}
}
