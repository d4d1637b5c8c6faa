package measure

import "math"

// evidence is what a film shows of the state of an outline.
type evidence struct {
	kind    edgeKind
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
	sameShape    = 0.95 // share of that which is the same on all films
	clippedSD    = 0.15 // where all is clipped, the same on all films
	clippedOwnSD = 0.17 // and on each its own
	softSD       = 0.1  // of the edge of a ball that rays pass
	usualRMS     = 0.45 // scatter of the edges of a clear outline
	strayGain    = 1.2  // of the scatter beyond that
)

// doubt adds the model's part to the covariance of a fit, which has that of the
// correlated scatter, and sets Shared.
func (f *CircleFit) doubt(e evidence) {
	shape := shapeSD * e.blur
	same := sameShape * min(1, 2*shape*shape/(f.Cov[0][0]+f.Cov[1][1]))
	common, alone := 0.0, softSD*e.blur
	if e.kind == metalEdge {
		common = math.Hypot(modelSD, clippedSD*e.clipped) * e.blur
		alone = math.Hypot(clippedOwnSD*e.clipped*e.blur, strayGain*max(0, f.RMS-usualRMS*e.blur))
	}
	for i := range f.Cov {
		for j := range f.Cov[i] {
			f.Shared[i][j] = same * f.Cov[i][j]
		}
		f.Shared[i][i] += common * common
		f.Cov[i][i] += common*common + alone*alone
	}
}
