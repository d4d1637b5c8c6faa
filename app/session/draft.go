package session

import (
	"image"
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// Trace is one outline under edit: the last fit to the film's edge, or what three
// clicks told, and where the reader has put the circle since.
type Trace struct {
	Fit  measure.Outline
	At   measure.Circle
	Hand bool            // At was moved away from Fit, or there is no fit
	By   []measure.Click `json:",omitempty"` // three clicks that a hand has drawn At, or Ring, through
	SD   float64         `json:",omitempty"` // of a click where At was placed last without them, px
	In   measure.Radii   `json:"-"`          // where the radius lies before it is clicked, px
	Ring measure.Ellipse // wire ring as a hand has shaped it; zero for that of Fit

	// Near is the edge that the film shows near an outline that only a hand has placed;
	// zero where none stands out there, nil where nobody has looked. It has no points:
	// the outline is not fitted to it.
	Near *measure.Outline `json:",omitempty"`

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

// proposed returns the outlines as a proposal of the program.
func (d Draft) proposed(from study.Provenance) study.Proposal {
	p := study.NewProposal(d.Head.Fit, d.Cup.Fit, d.CupKind, from)
	p.Head.Hand, p.Head.Rough, p.Cup.Hand, p.Cup.Rough = d.Head.Hand, d.Head.Rough, d.Cup.Hand, d.Cup.Rough
	p.Found, p.Line, p.Rim = d.Found, d.Line, d.Rim
	return p
}

// fitted returns the trace of an outline that was just fitted.
func fitted(o measure.Outline) Trace { return Trace{Fit: o, At: o.Circle} }

// rough returns the trace of an outline that is still to be placed.
func rough(c measure.Circle) Trace { return Trace{At: c, Hand: true, Rough: true} }

// unplaced says what is still to be placed on the film, "" where nothing is.
func (d Draft) unplaced() study.Note {
	switch {
	case d.Head.Rough && d.Cup.Rough:
		return study.Note{Code: "rough.both"}
	case d.Head.Rough:
		return study.Note{Code: "rough.head"}
	case d.Cup.Rough:
		return study.Note{Code: "rough.cup"}
	}
	return study.Note{}
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
	if (old.Proposed() || !old.Why.IsZero()) && moved < 0.01*a.R {
		return old
	}
	h := measure.Hip{Head: d.Head.Outline(), Cup: d.Cup.Outline(), CupKind: d.CupKind}
	find.SeekRim(img, &h)
	return study.ProposeRim(h)
}

// RimLeft reports whether the cup's outline was moved by hand after the rim was found on
// the film.
func (d Draft) RimLeft() bool { return d.Rim.Proposed() && d.Cup.Hand }

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

// putRing returns t with a wire's ellipse at e, placed by a hand that is off by sd.
func (t Trace) putRing(e measure.Ellipse, sd float64) Trace {
	t = t.unclicked()
	t.At, t.Ring, t.Hand, t.Rough = measure.Circle{X: e.X, Y: e.Y, R: e.A}, e, true, false
	t.SD = sd
	return t
}

// put returns t with its circle at c, placed by a hand that is off by sd. Of an
// outline that was never fitted to an edge a hand remains the source, wherever it
// goes.
func (t Trace) put(c measure.Circle, sd float64) Trace {
	t = t.unclicked()
	if t.Ring.A > 0 {
		t.Ring = moved(t.Ring, t.At, c)
	}
	t.At, t.Rough, t.SD = c, false, sd
	t.Hand = c != t.Fit.Circle || t.Ring.A > 0 || len(t.Fit.Points) == 0
	return t
}

// unclicked returns t without its clicks, which it is about to leave: what they told
// takes the place of a fit.
func (t Trace) unclicked() Trace {
	if len(t.By) == 3 {
		drawn := t
		drawn.Near = nil
		o := drawn.Outline()
		t.Fit = measure.Outline{CircleFit: measure.CircleFit{Circle: o.Circle, Cov: o.Cov}, Ring: o.Ring, RingCov: o.RingCov}
		t.By = nil
	}
	return t
}
