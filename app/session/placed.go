package session

import (
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// How well a hand places a point on a film's edge, as standard deviations along each
// axis. The edge is seen to about the standard deviation of its blur: two lines are
// told apart from there on (Levi & Klein 1990, Vision Res 30:1971). That blur, of
// focal spot and detector together, and how well a mouse is aimed, are common
// practice, no source.
const (
	aimSD  = 1.5  // of a click, units of the screen
	blurMM = 0.15 // of an edge, mm at the detector
)

// clickSD returns the standard deviation of a point that a hand places on f as it is
// shown now, film pixels.
func (e *Edits) clickSD(f *Film) float64 {
	spacing := f.Imager
	if !(spacing > 0) {
		spacing = f.Facts.SpacingMM
	}
	return placingSD(f.Camera.Zoom/e.s.viewer.scale, spacing)
}

// placingSD is clickSD at a zoom in units of the screen per film pixel; zeros take
// one of each, and pixels of a blur.
func placingSD(zoom, spacing float64) float64 {
	if !(zoom > 0) {
		zoom = 1
	}
	if !(spacing > 0) {
		spacing = blurMM
	}
	return math.Hypot(aimSD/zoom, blurMM/spacing)
}

// bounded returns d with what head diameter and pixel spacing tell of the head's
// radius on f: that the film magnifies as films of the hip do.
func (s *Session) bounded(f *Film, d Draft) Draft {
	d.Head.In = measure.Radii{}
	if f.Imager > 0 && s.hipKnown {
		r := s.hip.Implant.HeadMM / 2 / f.Imager
		d.Head.In = measure.Radii{Least: measure.LeastMagnification * r, Most: measure.MostMagnification * r}
	}
	return d
}

// Outline returns the outline with its evidence. Of one that a hand has placed the
// covariance is what hand placing does, or how far from it the evidence lies,
// whichever is larger:
//
//   - What hand placing does is the error of the clicks that it goes through, or of
//     centre and radius.
//   - Where the hand has moved it away from a fit, or from earlier clicks, by d, it is
//     theirs and dd', the mean product of the errors if they were right, and what
//     hand placing does, if the hand was right: all of that for a move by more than a
//     hand can tell, of a smaller one the share that it is of it.
//   - Where an edge of the film stands out near an outline that was never fitted, its
//     distance takes the place of that from the clicks, as far as it is more than what
//     hand placing explains.
//
// Residuals are those of the fit's edge points to the moved outline.
func (t Trace) Outline() measure.Outline {
	if !t.Hand {
		return t.Fit
	}
	o := t.Fit
	o.Circle, o.Ring = t.At, t.ring()
	distance := t.At.Distance
	if o.Ring.A > 0 {
		distance = func(p measure.Point) float64 { return toEllipse(o.Ring, p) }
		for i, row := range t.ringPlaced() {
			for j, v := range row {
				o.RingCov[i][j] += v
				if i < 3 && j < 3 {
					o.Cov[i][j] += v
				}
			}
		}
	} else {
		for i, row := range t.circlePlaced() {
			for j, v := range row {
				o.Cov[i][j] += v
			}
		}
	}
	stretch(o.Cov[:], t.grown())
	stretch(o.RingCov[:], t.grown())
	if len(o.Points) == 0 {
		return o
	}
	o.Residuals = make([]float64, len(o.Points))
	sum := 0.0
	for i, p := range o.Points {
		o.Residuals[i] = distance(p)
		sum += o.Residuals[i] * o.Residuals[i]
	}
	o.RMS = math.Sqrt(sum / float64(len(o.Points)))
	o.Edges = append([]measure.Edge(nil), o.Edges...)
	for i := range o.Edges {
		o.Edges[i].Residual = distance(o.Edges[i].Point)
	}
	return o
}

// circlePlaced returns the covariance of X, Y and R that a hand adds to what was
// known of them, px².
func (t Trace) circlePlaced() [3][3]float64 {
	sd := t.handSD()
	cov := [3][3]float64{{sd * sd}, {0, sd * sd}, {0, 0, sd * sd}}
	if len(t.By) == 3 {
		if _, by, err := measure.ClickedCircle(known(t.By, sd), t.In); err == nil {
			cov = by
		}
	}
	e := evidence[[3]float64]{known: t.Fit.R > 0, seen: t.seen(), fit: t.Fit.Cov[:]}
	if e.known {
		e.moved = fromCircle(t.Fit.Circle, t.At)
		e.share = moveShare(e.moved, sd)
	}
	if e.seen {
		e.near, e.off = t.Near.Cov[:], fromCircle(t.Near.Circle, t.At)
	}
	e.weigh(cov[:], circleOdds)
	return cov
}

// ringPlaced returns the covariance of X, Y, A, B and Angle (radians) that a hand
// adds to what was known of a ring. One that was shaped by its handles is taken for
// one drawn through the ends of its axes.
func (t Trace) ringPlaced() [5][5]float64 {
	e, sd, clicks := t.ring(), t.handSD(), t.By
	if len(clicks) != 3 {
		ends := axisEnds(e)
		clicks = []measure.Click{{Point: ends[0]}, {Point: ends[1]}, {Point: ends[3]}}
	}
	by := known(clicks, sd)
	_, cov, err := measure.ClickedRing(by[0], by[1], by[2])
	if err != nil { // as round as a circle
		cov = measure.RingScatter(sd*sd, e.A)
	}
	v := evidence[[5]float64]{known: t.Fit.Ring.A > 0, seen: t.seen(), fit: t.Fit.RingCov[:]}
	if v.known {
		v.moved = fromRing(t.Fit.Ring, e)
		d := v.moved
		v.share = moveShare([3]float64{math.Hypot(d[0], d[1]), math.Hypot(d[2], d[3]), d[4] * e.A}, sd)
	}
	if v.seen {
		v.near, v.off = t.Near.RingCov[:], fromRing(t.Near.Ring, e)
	}
	v.weigh(cov[:], ringOdds)
	return cov
}

// stretch makes the errors of X and Y, the first two of cov, k times as large.
func stretch[R numbers](cov []R, k float64) {
	for i := range cov {
		for j := range cov {
			if i < 2 {
				cov[i][j] *= k
			}
			if j < 2 {
				cov[i][j] *= k
			}
		}
	}
}

// known returns three clicks, those whose error is not told with sd.
func known(clicks []measure.Click, sd float64) (by [3]measure.Click) {
	for i := range by {
		if by[i] = clicks[i]; !(by[i].SD > 0) {
			by[i].SD = sd
		}
	}
	return by
}

// handSD returns the standard deviation of a click when the outline was placed, px.
func (t Trace) handSD() float64 {
	if t.SD > 0 {
		return t.SD
	}
	return placingSD(0, 0)
}

// moveShare returns how much of a hand's own error a move by d shows: all from three
// variances on, the trace of that of centre and radius.
func moveShare(d [3]float64, sd float64) float64 {
	return min(1, (d[0]*d[0]+d[1]*d[1]+d[2]*d[2])/(3*sd*sd))
}

// byHand is the warning of an outline that a hand has placed, with what is known of it; mm
// is a pixel at the hip. Distance says what its error holds besides the hand's own, and Bare
// what there is none of along it.
func (t Trace) byHand(part measure.Part, mm float64) study.Warning {
	cov := t.Outline().Cov
	mean, half := (cov[0][0]+cov[1][1])/2, (cov[0][0]-cov[1][1])/2
	worst := math.Sqrt(mean + math.Hypot(half, cov[0][1]))
	distance, bare := "", ""
	switch {
	case len(t.Fit.Points) > 0:
		distance = "fitted"
	case t.seen():
		distance = "seen"
	case t.Fit.R > 0:
		distance = "before"
	}
	if t.bare() && (distance == "" || distance == "before") {
		bare = "edge"
		if t.ring().A > 0 {
			bare = "wire"
		}
	}
	return study.Warning{Code: study.WarnByHand, Values: study.Values{"Part": PartWord(part), "Distance": distance, "Bare": bare,
		"Center": worst * mm, "Radius": math.Sqrt(cov[2][2]) * mm}}
}
