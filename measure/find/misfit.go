package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// surely is how far an outline, or an offset, may be off, mm, beyond which it is not to be
// taken unseen: wear of a whole year, and more.
const surely = 0.2

// rare is one error in a hundred in half-widths of the 95 % interval, by Student's t of the 4
// degrees of freedom of doubts (NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.2).
const rare = 4.604 / 2.776

// misfits warns of the outline that tells the offset worse where that is off by more
// than surely once in a hundred, and of those whose edges scatter half as much as edges
// anywhere within the reach would (tried by .ci/vary). mm is that of a pixel.
func misfits(h measure.Hip, mm float64) (all []measure.Warning) {
	head, cup := mm*within(h.Head), mm*within(h.Cup)
	off := rare * math.Hypot(head, cup)
	for _, o := range []struct {
		name  string
		worse bool
		measure.Outline
	}{{"head", head > cup, h.Head}, {"cup", head <= cup, h.Cup}} {
		if o.worse && off > surely || o.Ring.A == 0 && o.RMS > wild(o.Circle, 1)/2 {
			all = append(all, measure.Warning{Code: measure.OutlineMisfit, Values: map[string]any{"Part": o.name, "Off": off}})
		}
	}
	return all
}

// within returns the half-width of the 95 % interval of an outline's centre, px, in the
// direction in which it is known least.
func within(o measure.Outline) float64 {
	center := measure.Vector{Cov: [2][2]float64{{o.Cov[0][0], o.Cov[0][1]}, {o.Cov[1][0], o.Cov[1][1]}}}
	_, se := center.Magnitude()
	return 1.96 * se
}

// either returns the one of two outlines of a circle whose centre is known better, by no
// more than that its 95 % interval holds the other.
func either(a, b measure.Outline) measure.Outline {
	if within(b) < within(a) {
		a, b = b, a
	}
	measure.AddSquares(a.Cov[:], 1/(1.96*1.96), [3]float64{a.X - b.X, a.Y - b.Y, a.R - b.R})
	return a
}

// wild returns how far edges anywhere within the reach of a look at a circle scatter,
// px, of one that is as many times as rough as the film's blur.
func wild(c measure.Circle, rough int) float64 {
	return float64(rough) * lookReach * film.Smoothing(c.R) / math.Sqrt(3)
}
