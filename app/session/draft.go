package session

import (
	"image"
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// Trace is one outline under edit: the last fit to the film's edge, and where
// the reader has put the circle since.
type Trace struct {
	Fit  measure.Outline
	At   measure.Circle
	Hand bool            // At was moved away from Fit, or there is no fit
	By   []measure.Point `json:",omitempty"` // three points that a hand has drawn At through
	Ring measure.Ellipse // wire ring as a hand has shaped it; zero for that of Fit

	// Rough: the program has put At about where it may be, and nobody has placed or
	// refined it since; nothing is read from it.
	Rough bool `json:",omitempty"`
}

// Draft is the pair of outlines of one film. It is a value: edits make a new one.
type Draft struct {
	Head, Cup Trace
	CupKind   measure.CupKind
	Found     []study.Warning // warnings of the detection
	Line      study.Line      // reference line of the film
	Rim       study.Rim       // line along the cup's opening
}

// fitted returns the trace of an outline that was just fitted.
func fitted(o measure.Outline) Trace { return Trace{Fit: o, At: o.Circle} }

// rough returns the trace of an outline that is still to be placed.
func rough(c measure.Circle) Trace { return Trace{At: c, Hand: true, Rough: true} }

// unplaced says what is still to be placed on the film, "" where nothing is.
func (d Draft) unplaced() string {
	switch {
	case d.Head.Rough && d.Cup.Rough:
		return "head and cup are only roughly in place; draw them (A), or bring them near and refine both (B)"
	case d.Head.Rough:
		return "the head is only roughly in place; draw it (A), or bring it near and refine it (R)"
	case d.Cup.Rough:
		return "the cup is only roughly in place; draw it (A), or bring it near and refine it (R)"
	}
	return ""
}

// Trace returns the outline of part.
func (d Draft) Trace(part measure.Part) Trace {
	if part == measure.Cup {
		return d.Cup
	}
	return d.Head
}

// with returns d with the outline of part replaced.
func (d Draft) with(part measure.Part, t Trace) Draft {
	if part == measure.Cup {
		d.Cup = t
	} else {
		d.Head = t
	}
	return d
}

// rimAfter returns the rim for d, whose outlines were fitted from before: that of
// the film where no reader has drawn one and the shell is not where it was.
func (d Draft) rimAfter(before Draft, img *image.Gray16) study.Rim {
	old := d.Rim
	if d.CupKind != measure.Shell || old.Drawn() && !old.Proposed() {
		return old
	}
	a, b := d.Cup.At, before.Cup.At
	moved := math.Hypot(a.X-b.X, a.Y-b.Y) + math.Abs(a.R-b.R)
	if (old.Proposed() || old.Why != "") && moved < 0.01*a.R {
		return old
	}
	h := measure.Hip{Head: d.Head.Outline(), Cup: d.Cup.Outline(), CupKind: d.CupKind}
	find.SeekRim(img, &h)
	return study.ProposeRim(h)
}

// handSE is the standard error, in pixels, taken for a circle that was placed
// by hand where no edge points are known (common practice, no source: a pixel
// is about what a steady hand reaches on a screen).
const handSE = 1.0

// Outline returns the outline with its evidence. For a circle moved by hand the
// residuals are those of the known edge points to the moved circle, and the
// variances grow by twice the rise of their mean square: a centre displaced by d
// raises the mean square over a full circle by d²/2, so the standard error is
// never smaller than what hand and edge disagree by.
func (t Trace) Outline() measure.Outline {
	if !t.Hand {
		return t.Fit
	}
	o := t.Fit
	o.Circle, o.Ring = t.At, t.ring()
	if len(o.Points) == 0 {
		o.Cov = diagonal(handSE * handSE)
		if o.Ring.A > 0 {
			o.RingCov = measure.RingScatter(handSE*handSE, o.Ring.A)
		}
		return o
	}
	distance := t.At.Distance
	if o.Ring.A > 0 {
		distance = func(p measure.Point) float64 { return toEllipse(o.Ring, p) }
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
	rise := max(0, 2*(o.RMS*o.RMS-t.Fit.RMS*t.Fit.RMS))
	for i := range o.Cov {
		o.Cov[i][i] += rise
	}
	if o.Ring.A > 0 {
		for i, v := range measure.RingScatter(rise, o.Ring.A) {
			o.RingCov[i][i] += v[i]
		}
	}
	return o
}

// moved returns a wire's ellipse after its circle went from one place to another.
func moved(e measure.Ellipse, from, to measure.Circle) measure.Ellipse {
	k := to.R / from.R
	e.X, e.Y = to.X+k*(e.X-from.X), to.Y+k*(e.Y-from.Y)
	e.A, e.B = e.A*k, e.B*k
	return e
}

// toEllipse returns the signed distance of p to the outline of e, positive
// outside, to first order: exact enough near the outline, where edge points lie.
func toEllipse(e measure.Ellipse, p measure.Point) float64 {
	sin, cos := math.Sincos(e.Angle * math.Pi / 180)
	dx, dy := p.X-e.X, p.Y-e.Y
	u, v := (dx*cos+dy*sin)/e.A, (dy*cos-dx*sin)/e.B
	q := math.Hypot(u, v)
	if q == 0 {
		return -e.B
	}
	return (q - 1) * q / math.Hypot(u/e.A, v/e.B)
}

func diagonal(v float64) (m [3][3]float64) {
	for i := range m {
		m[i][i] = v
	}
	return m
}

// ring returns a wire's ellipse as it is shown; zero for another outline.
func (t Trace) ring() measure.Ellipse {
	switch {
	case t.Ring.A > 0:
		return t.Ring
	case t.Fit.Ring.A > 0:
		return moved(t.Fit.Ring, t.Fit.Circle, t.At)
	}
	return measure.Ellipse{}
}

// putRing returns t with a wire's ellipse at e.
func (t Trace) putRing(e measure.Ellipse) Trace {
	t.At, t.Ring, t.Hand, t.Rough = measure.Circle{X: e.X, Y: e.Y, R: e.A}, e, true, false
	return t
}

// put returns t with its circle at c; what was drawn by hand goes with it.
func (t Trace) put(c measure.Circle) Trace {
	if len(t.By) > 0 {
		by, k := make([]measure.Point, len(t.By)), c.R/t.At.R
		for i, p := range t.By {
			by[i] = measure.Point{X: c.X + k*(p.X-t.At.X), Y: c.Y + k*(p.Y-t.At.Y)}
		}
		t.By = by
	}
	if t.Ring.A > 0 {
		t.Ring = moved(t.Ring, t.At, c)
	}
	t.At, t.Rough = c, false
	t.Hand = len(t.Fit.Points) == 0 || c != t.Fit.Circle || t.Ring.A > 0
	return t
}
