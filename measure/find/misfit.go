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
// reach would. mm is that of a pixel.
func misfits(h measure.Hip, mm float64) (all []measure.Warning) {
	for _, o := range []struct {
		name string
		measure.Outline
	}{{"head", h.Head}, {"cup", h.Cup}} {
		off := 1.96 * mm * worst(o.Cov)
		if off > surely || o.Ring.A == 0 && o.RMS > wild(o.Circle, 1)/2 {
			all = append(all, warnMisfit(o.name, off))
		}
	}
	return all
}

// wild returns how far edges anywhere within the reach of a look at a circle scatter,
// px, of one that is as many times as rough as the film's blur.
func wild(c measure.Circle, rough float64) float64 {
	return rough * lookReach * film.Smoothing(c.R) / math.Sqrt(3)
}

// worst returns the standard error of a centre in the direction in which it is known
// least, px.
func worst(cov [3][3]float64) float64 {
	mean, half := (cov[0][0]+cov[1][1])/2, (cov[0][0]-cov[1][1])/2
	return math.Sqrt(max(0, mean+math.Hypot(half, cov[0][1])))
}

func warnMisfit(outline string, off float64) measure.Warning {
	return measure.Warning{Code: measure.OutlineMisfit, Text: fmt.Sprintf("the %s's outline fits badly: its centre may be off by %.1f mm", outline, off)}
}
