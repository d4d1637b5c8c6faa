package film

import (
	"math"
	"slices"

	"linerwatch/measure"
)

// Correct moves edges found on the linear film to the outline. On a circle the
// middle of a blurred step lies sigma²/(2 R) inside.
func (k *Calibration) Correct(edges []measure.Edge, c measure.Circle, sigma float64) {
	insets := k.insets(len(edges), sigma)
	curve := (k.Sigma()*k.Sigma() + sigma*sigma) / (2 * c.R)
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
func (k *Calibration) inset(s *sector, edge *blurred, sigma float64) float64 {
	half := int(math.Ceil(3 * sigma / Step))
	kernel := slopeKernel(sigma, half)
	reach := int(math.Ceil(2 * (sigma + k.Sigma()) / Step))
	in, out := math.Exp(k.tone.depth(s.in)), math.Exp(k.tone.depth(s.out))
	floor := math.Exp(k.tone.depth(k.cut)) // only where the film saturates
	profile := make([]float64, 2*(reach+half)+1)
	for j := range profile {
		d := Step * float64(j-reach-half)
		share, _, _ := edge.at(d)
		i := max(1e-3, in+(out*(1+s.rise*max(0, d))-in)*share)
		profile[j] = -i
		if !math.IsInf(k.cut, 1) {
			profile[j], _ = below(-i, -floor, k.photons*math.Sqrt(i))
		}
	}
	slope := make([]float64, 2*reach+1)
	falling(slope, profile, kernel)
	best := 0
	for j := range slope {
		if slope[j] > slope[best] {
			best = j
		}
	}
	if best == 0 || best == len(slope)-1 {
		return 0
	}
	a, b, c := slope[best-1], slope[best], slope[best+1]
	return Step*float64(best-reach) + Step*0.5*(a-c)/(a-2*b+c)
}

// kept is the part of an inset's departure from the mean around an outline that
// is corrected: what is gained for one film, noise in the sectors takes from the
// difference of two. Chosen; plain drawn shells err half as much again with neither it
// nor the smoothing.
const kept = 0.7

// insets returns the inset at n directions around the outline.
func (k *Calibration) insets(n int, sigma float64) []float64 {
	edge := k.edge()
	type place struct{ angle, inset float64 }
	var at []place
	for i := range k.sectors {
		at = append(at, place{k.sectors[i].angle, k.inset(&k.sectors[i], edge, sigma)})
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
