package study

import (
	"math"
	"slices"
	"strings"

	"linerwatch/measure"
)

// weighed is a measurement with its weight in a mean; the weights of a mean add up to 1.
type weighed struct {
	Measurement
	weight float64
}

// meanOf returns the mean of readings of one film: of each reader that of the occasions, and
// then that of the readers. Its Of are theirs. Those without a measurement are passed over;
// one alone is itself, and nil is of none.
//
// The readings of one film have its edges in common, so their errors are not those of
// independent measurements: the covariance of the mean is the mean of theirs, and nothing is
// taken off for their number.
func meanOf(list []Reading) *Reading {
	measured := slices.DeleteFunc(slices.Clone(list), func(r Reading) bool { return r.Status != Measured })
	switch {
	case len(measured) == 0 && len(list) > 0:
		return &list[len(list)-1] // says why there is none
	case len(measured) == 0:
		return nil
	case len(measured) == 1:
		return &measured[0]
	}
	times := map[string]int{}
	for _, r := range measured {
		times[r.Reader]++
	}
	out := measured[len(measured)-1]
	out.Supersedes, out.Kept, out.Listed = "", Kept{}, Listed{}
	var readers []string
	var parts []weighed
	for _, r := range measured {
		out.Of = append(out.Of, r.ID)
		if !slices.Contains(readers, r.Reader) {
			readers = append(readers, r.Reader)
		}
		parts = append(parts, weighed{r.Measurement, 1 / float64(len(times)*times[r.Reader])})
	}
	out.ID, out.Reader = strings.Join(out.Of, "+"), strings.Join(readers, "+")
	out.Measurement = meanMeasurement(parts)
	return &out
}

// IDs returns the codes by which the store knows the reading: its own, or of a mean those of
// the readings that it is of.
func (r Reading) IDs() []string {
	if len(r.Of) > 0 {
		return r.Of
	}
	return []string{r.ID}
}

// meanMeasurement is the mean of measurements of one film; Refused where they outline
// different things, or cannot all be read alike.
func meanMeasurement(parts []weighed) Measurement {
	m := parts[0].Measurement
	m.parts = parts
	refuse := func(why Note) Measurement {
		m.Status, m.Reason, m.Reading, m.parts = Refused, why, Result{}, nil
		return m
	}
	for _, p := range parts[1:] {
		if p.CupKind != m.CupKind || (p.Cup.Ring.A > 0) != (m.Cup.Ring.A > 0) {
			return refuse(Note{Code: "mean.kinds"})
		}
		m.Warnings = append(slices.Clone(m.Warnings), p.Warnings...)
	}
	m.Warnings = Unique(m.Warnings)
	m.Head = meanOutline(parts, func(p weighed) Outline { return p.Head })
	m.Cup = meanOutline(parts, func(p weighed) Outline { return p.Cup })
	for _, p := range parts[1:] {
		if p.How == m.How && p.HeadMM == m.HeadMM && p.Side == m.Side {
			continue
		}
		read, err := m.Read(m.How)
		if err != nil {
			return refuse(NoteOf(err))
		}
		return read
	}
	m.Reading = meanResult(parts)
	return m
}

// meanOutline is the outline through which the mean is shown, without edge points.
func meanOutline(parts []weighed, of func(weighed) Outline) (out Outline) {
	var sin, cos float64 // of twice the ring's angle: it is that of an axis
	for _, p := range parts {
		o, w := of(p), p.weight
		out.X, out.Y, out.R = out.X+w*o.X, out.Y+w*o.Y, out.R+w*o.R
		out.Arc, out.RMS = out.Arc+w*o.Arc, out.RMS+w*o.RMS
		for i := range o.Cov {
			for j := range o.Cov[i] {
				out.Cov[i][j] += w * o.Cov[i][j]
			}
		}
		if o.Ring.A > 0 {
			out.Ring.X, out.Ring.Y, out.Ring.A, out.Ring.B = out.Ring.X+w*o.Ring.X, out.Ring.Y+w*o.Ring.Y, out.Ring.A+w*o.Ring.A, out.Ring.B+w*o.Ring.B
			s, c := math.Sincos(2 * o.Ring.Angle * math.Pi / 180)
			sin, cos = sin+w*s, cos+w*c
		}
		for i := range o.RingCov {
			for j := range o.RingCov[i] {
				out.RingCov[i][j] += w * o.RingCov[i][j]
			}
		}
	}
	if out.Ring.A > 0 {
		out.Ring.Angle = math.Atan2(sin, cos) / 2 * 180 / math.Pi
	}
	return out
}

// meanResult is the mean of what was read.
func meanResult(parts []weighed) (out Result) {
	for _, p := range parts {
		r, w := p.Reading, p.weight
		out.Scale, out.SEScale = out.Scale+w*r.Scale, out.SEScale+w*r.SEScale
		out.Eccentricity, out.SEEccentricity = out.Eccentricity+w*r.Eccentricity, out.SEEccentricity+w*r.SEEccentricity
		out.Thinnest, out.SEThinnest = out.Thinnest+w*r.Thinnest, out.SEThinnest+w*r.SEThinnest
		out.Offset = meanVector(out.Offset, r.Offset, w)
	}
	return out
}

func meanVector(sum, v measure.Vector, w float64) measure.Vector {
	sum.Superior, sum.Medial = sum.Superior+w*v.Superior, sum.Medial+w*v.Medial
	for i := range 2 {
		for j := range 2 {
			sum.Cov[i][j] += w * v.Cov[i][j]
			sum.Shared[i][j] += w * v.Shared[i][j]
		}
	}
	return sum
}

// readParts is Read of a mean: each part is read, by what m says of hip and film.
func (m Measurement) readParts(how Method) (Measurement, error) {
	parts := slices.Clone(m.parts)
	for i, p := range parts {
		p.Film, p.HeadMM, p.Side = m.Film, m.HeadMM, m.Side
		read, err := p.Read(how)
		if err != nil {
			return m, err
		}
		parts[i].Measurement = read
	}
	m.parts, m.Reading = parts, meanResult(parts)
	m.How, m.Beam, m.Corrected = parts[0].How, parts[0].Beam, parts[0].Corrected
	for _, p := range parts[1:] {
		if p.How != m.How {
			return m, NewError("mean.methods", nil)
		}
	}
	return m, nil
}
