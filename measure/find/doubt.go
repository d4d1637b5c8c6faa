package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// evidence is what a film shows of the state of an outline.
type evidence struct {
	kind    film.EdgeKind
	blur    float64 // px
	clipped float64 // share of the outline inside which the film is saturated
}

// Standard errors that noise cannot tell, as shares of the blur, from phantom
// films with seeds kept apart from those of the report. What lies in the shape
// of the outline and in the model of its edge is the same on all films of a hip;
// what clipping and a soft edge do is the same in part.
const (
	modelSD      = 0.03 // of the edge model, the same on all films
	shapeSD      = 0.13 // most that the shape gives to the correlation along the outline
	sameShape    = 0.9  // share of that which is the same on all films
	clippedSD    = 0.15 // where all of 240 degrees is clipped, the same on all films
	clippedOwnSD = 0.10 // and on each its own
	softSD       = 0.13 // of the edge of a ball that rays pass, the same on all films
	softOwnSD    = 0.07 // and on each its own
	usualRMS     = 0.45 // scatter of the edges of a clear outline
	strayGain    = 0.4  // of the scatter beyond that
)

// doubt adds the model's part to the covariance of a fit, which has that of the
// correlated scatter, and sets Shared.
func doubt(f *measure.CircleFit, e evidence) {
	shape := shapeSD * e.blur
	same := sameShape * min(1, 2*shape*shape/(f.Cov[0][0]+f.Cov[1][1]))
	stray := strayGain * max(0, f.RMS-usualRMS*e.blur)
	common, alone := softSD*e.blur, math.Hypot(softOwnSD*e.blur, stray)
	if e.kind == film.MetalEdge {
		// All around an outline, what clipping moves leaves the centre.
		cut := e.clipped * e.blur * math.Sqrt(3*(1-f.Arc/360))
		common = math.Hypot(modelSD*e.blur, clippedSD*cut)
		alone = math.Hypot(clippedOwnSD*cut, stray)
	}
	for i := range f.Cov {
		for j := range f.Cov[i] {
			f.Shared[i][j] = same * f.Cov[i][j]
		}
		f.Shared[i][i] += common * common
		f.Cov[i][i] += common*common + alone*alone
	}
}

// What a ring's ellipse leaves, as shares of its long half-axis, from phantom
// films too: across the long axis, nearly the same on all films, since the head
// and the cement beside its lines pull at them; and at the ends of a ring seen
// edge-on, which bulge by the wire.
const (
	ringAcrossSD = 0.0008
	ringSame     = 0.9
	ringEndSD    = 0.014
	ringEdgeOn   = 0.05 // short over long axis at which the ends bulge by a third
)

// doubtRing adds the model's part to the covariance of a ring, and sets Shared.
func doubtRing(o *measure.Outline) {
	e := o.Ring
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	v := ringAcrossSD * e.A * ringAcrossSD * e.A
	ux, uy := -sin, cos
	across := [2][2]float64{{v * ux * ux, v * ux * uy}, {v * ux * uy, v * uy * uy}}
	for i := range across {
		for j := range across {
			o.RingCov[i][j] += across[i][j]
			o.Shared[i][j] = ringSame * across[i][j]
		}
	}
	o.RingCov[3][3] += v
	end := ringEndSD * e.A * math.Exp(-e.B/e.A/ringEdgeOn)
	o.RingCov[2][2] += end * end
	for i := range o.Cov {
		copy(o.Cov[i][:], o.RingCov[i][:3])
	}
}
