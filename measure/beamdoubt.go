package measure

import "math"

// BeamDoubt is how well a beam is known, as standard deviations.
type BeamDoubt struct {
	Center      float64 // of the central ray along each axis of the film, mm on the film
	SourceImage float64 // of the distance from source to film, mm
}

// ReadHipWithin is ReadHip with what the doubt about the beam adds to the
// standard errors: the readings with the central ray moved along either axis,
// and with the source moved, by one standard deviation, taken as independent
// from film to film. The doubt is small: 10 mm of the central ray change the
// offset of a shell and its head by some 0.005 mm.
func (b Beam) ReadHipWithin(h Hip, headMM, alpha float64, doubt BeamDoubt) (BeamReading, error) {
	for _, sd := range []float64{doubt.Center, doubt.SourceImage} {
		if !(sd >= 0) || !Finite(sd) {
			return BeamReading{}, &RangeError{"standard deviation", sd, "mm", "must not be negative"}
		}
	}
	r, err := b.ReadHip(h, headMM, alpha)
	if err != nil {
		return r, err
	}
	right, down, far := b, b, b
	right.Center.X += doubt.Center / b.Spacing
	down.Center.Y += doubt.Center / b.Spacing
	far.SourceImage += doubt.SourceImage
	plain := r.Reading
	for _, other := range []Beam{right, down, far} {
		if other == b {
			continue
		}
		moved, err := other.ReadHip(h, headMM, alpha)
		if err != nil {
			return r, err
		}
		r.Reading = r.widened(plain, moved.Reading)
	}
	return r, nil
}

// widened adds to r's standard errors the change from one reading to another,
// taken as one standard deviation.
func (r Reading) widened(from, to Reading) Reading {
	d := [2]float64{to.Offset.Superior - from.Offset.Superior, to.Offset.Medial - from.Offset.Medial}
	for i := range d {
		for j := range d {
			r.Offset.Cov[i][j] += d[i] * d[j]
		}
	}
	r.SEScale = math.Hypot(r.SEScale, to.Scale-from.Scale)
	r.SEEccentricity = math.Hypot(r.SEEccentricity, to.Eccentricity-from.Eccentricity)
	r.SEThinnest = math.Hypot(r.SEThinnest, to.Thinnest-from.Thinnest)
	return r
}
