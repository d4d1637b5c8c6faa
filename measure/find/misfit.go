package find

import (
	"fmt"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// surely is the half-width of the 95 % interval of a centre, mm, beyond which its
// outline is not to be taken unseen: wear of a whole year, and more.
const surely = 0.2

// misfits warns of the outlines of a hip that do not tell their centre to within
// surely, and of those whose edges scatter half as much as edges anywhere within the
// reach would (tried by .ci/vary). mm is that of a pixel.
func misfits(h measure.Hip, mm float64) (all []measure.Warning) {
	for _, o := range []struct {
		name string
		measure.Outline
	}{{"head", h.Head}, {"cup", h.Cup}} {
		off := mm * within(o.Outline)
		if off > surely || o.Ring.A == 0 && o.RMS > wild(o.Circle, 1)/2 {
			all = append(all, warning(measure.OutlineMisfit, "the %s's outline fits badly: its centre may be off by %.1f mm", o.name, off))
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

func warning(code, format string, args ...any) measure.Warning {
	return measure.Warning{Code: code, Text: fmt.Sprintf(format, args...)}
}
