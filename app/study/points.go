package study

import "slices"

// Points is the edge points that the outlines of a reading were fitted to.
type Points struct{ Head, Cup EdgePoints }

// EdgePoints is the edge points of one outline: all that were looked at, and those fitted
// with their distances from the outline, px.
type EdgePoints struct {
	All       []Edge
	Fitted    []Pixel
	Residuals []float64
}

// Kept counts the edge points that the outlines of a reading were fitted to.
type Kept struct{ Head, Cup int }

// Points returns the edge points that the reading holds.
func (r Reading) Points() Points {
	return Points{edgesOf(r.Head), edgesOf(r.Cup)}
}

// And returns the points with those of another reading.
func (p Points) And(q Points) Points {
	return Points{p.Head.and(q.Head), p.Cup.and(q.Cup)}
}

func (e EdgePoints) and(f EdgePoints) EdgePoints {
	return EdgePoints{slices.Concat(e.All, f.All), slices.Concat(e.Fitted, f.Fitted), slices.Concat(e.Residuals, f.Residuals)}
}

func edgesOf(o Outline) EdgePoints { return EdgePoints{o.Edges, o.Points, o.Residuals} }

// With returns the reading with its edge points.
func (r Reading) With(p Points) Reading {
	r.Head, r.Cup = p.Head.of(r.Head), p.Cup.of(r.Cup)
	return r
}

// Bare returns the reading without edge points, which it counts.
func (r Reading) Bare() Reading {
	r.Kept = Kept{len(r.Head.Points), len(r.Cup.Points)}
	return r.With(Points{})
}

func (e EdgePoints) of(o Outline) Outline {
	o.Edges, o.Points, o.Residuals = e.All, e.Fitted, e.Residuals
	return o
}

// Rereads reports whether some readings of the record may be read again, corrected for
// the cone beam, for the hip as it is now or by another method than before (OneMethod):
// that needs their edge points.
func (r Record) Rereads() bool {
	var lined, unlined bool
	for _, g := range r.Readings {
		if g.counts() && g.Film.View() != Lateral {
			lined, unlined = lined || g.Line.From != NoLine, unlined || g.Line.From == NoLine
		}
	}
	for _, g := range r.Readings {
		if g.Status != Measured || r.Hip.BeamOff {
			continue
		}
		if _, _, use := g.Film.Beam(); !use.Reason.IsZero() {
			continue
		}
		how := Method{Beam: true, Line: lined && g.Film.View() != Lateral}
		if lined && unlined && g.Line.From != NoLine || !g.readBy(how) || !g.outdated(r.Hip).IsZero() {
			return true
		}
	}
	return false
}

// counts reports whether the reading can be one of a trend.
func (r Reading) counts() bool { return r.Stands() && r.Status == Measured }
