package film

import (
	"math"

	"linerwatch/measure"
)

// Correct moves edges found on the linear film to the outline: by the mean inset of the
// sectors, from which a single one departs by no more than it errs. On a circle the
// middle of a blurred step lies sigma²/(2 R) inside.
func (k *Calibration) Correct(edges []measure.Edge, c measure.Circle, sigma float64) {
	edge := k.edge()
	shift := (k.Sigma()*k.Sigma() + sigma*sigma) / (2 * c.R)
	for i := range k.sectors {
		shift -= k.inset(&k.sectors[i], edge, sigma) / float64(len(k.sectors))
	}
	for i := range edges {
		e := &edges[i]
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		e.X += shift * cos
		e.Y += shift * sin
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
