package batch

import (
	"math"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/result"
)

// report is what a reading says, its outlines where they lie in the film's file.
func (w resultWriter) report(e study.FilmEntry, m study.Measurement, o original, number int) result.Report {
	r := result.Report{
		Film: o.is, Hip: w.record.Hip.ID, Side: m.Side.String(), Reading: e.Reading.ID, Read: e.Reading.At,
		Source: result.Source{Program: "Linerwatch", Version: w.opt.Version, Reader: e.Reading.Reader, Made: w.opt.Now, Number: number},
	}
	if m.Side == study.SideUnknown {
		r.Side = ""
	}
	r.Groups = outlineGroups(m, o.film.Place())
	how := methodOf(m)
	hip := result.Group{Name: "hip", Finding: result.Prosthesis, Numbers: hipNumbers(m, how)}
	for _, p := range w.trend.Penetration {
		if w.untold == nil && p.Film.ID == e.ID && p.Film.ID != w.trend.Baseline.ID {
			superior, medial := p.SE()
			for _, n := range []result.Number{
				{Of: result.MovedSuperior, Value: p.Superior, SE: known(superior)},
				{Of: result.MovedMedial, Value: p.Medial, SE: known(medial)},
			} {
				n.Unit, n.Method, n.Since = result.Millimetres, how, w.trend.Baseline.Date()
				hip.Numbers = append(hip.Numbers, n)
			}
		}
	}
	r.Groups = append(r.Groups, hip)
	return r
}

// outlineGroups are the outlines of head, cup and rim with the numbers of each.
func outlineGroups(m study.Measurement, p dicomio.Place) []result.Group {
	at := func(o result.Outline) *result.Outline {
		o = o.At(p)
		return &o
	}
	head := result.Group{Name: "head", Finding: result.Head, Outline: at(*result.Circle(m.Head.X, m.Head.Y, m.Head.R)), Numbers: []result.Number{
		{Of: result.Diameter, Value: m.HeadMM, Unit: result.Millimetres, Method: result.Known},
		{Of: result.Scale, Value: m.Reading.Scale, SE: known(m.Reading.SEScale), Unit: result.PerPixel, Method: result.ByHead},
	}}
	cup := result.Group{Name: "cup", Finding: result.Shell, Outline: at(*result.Circle(m.Cup.X, m.Cup.Y, m.Cup.R))}
	if m.CupKind == study.Wire {
		cup.Finding = result.Monoblock
		if ring := m.Cup.Ring; ring.B > 0 {
			cup.Outline = at(ellipse(ring))
		}
	}
	groups := []result.Group{head, cup}
	axis, found := axisNumbers(m)
	if found && m.Rim.Found.B > 0 {
		return append(groups, result.Group{Name: "rim", Finding: result.Shell, Outline: at(ellipse(m.Rim.Found)), Numbers: axis})
	}
	groups[1].Numbers = axis
	return groups
}

func ellipse(e study.Ellipse) result.Outline {
	return result.Outline{X: e.X, Y: e.Y, A: max(e.A, e.B), B: min(e.A, e.B), Angle: e.Angle}
}

// axisNumbers say how the cup lies; found is whether its rim was found on the film.
func axisNumbers(m study.Measurement) (out []result.Number, found bool) {
	o, ok := m.Orientation()
	if !ok {
		return nil, false
	}
	of, how := result.InclinedToRows, result.LineOfRim
	if o.Line {
		of = result.InclinedToLine
	}
	switch {
	case o.Found:
		how = result.RimOfShell
	case o.Version:
		how = result.RingOfWire
	}
	out = append(out, result.Number{Of: of, Value: o.Inclination, SE: known(o.SEInclination), Unit: result.Degrees, Method: how})
	if o.Version {
		out = append(out, result.Number{Of: result.Anteversion, Value: o.Anteversion, SE: known(o.SEAnteversion), Unit: result.Degrees, Method: how})
	}
	return out, o.Found
}

// hipNumbers say how head and cup lie to each other.
func hipNumbers(m study.Measurement, how result.Code) []result.Number {
	r := m.Reading
	superior, medial := r.Offset.SE()
	out := []result.Number{
		{Of: result.Superior, Value: r.Offset.Superior, SE: known(superior), Unit: result.Millimetres, Method: how},
		{Of: result.Medial, Value: r.Offset.Medial, SE: known(medial), Unit: result.Millimetres, Method: how},
		{Of: result.Eccentricity, Value: r.Eccentricity, SE: known(r.SEEccentricity), Unit: result.NoUnit, Method: how},
		{Of: result.Thinnest, Value: r.Thinnest, SE: known(r.SEThinnest), Unit: result.Millimetres, Method: how},
	}
	if g, err := m.Gap(); err == nil {
		out = append(out, result.Number{Of: result.Widest, Value: g.Widest.MM, SE: known(g.Widest.SE), Unit: result.Millimetres, Method: how})
	}
	return out
}

// known is a standard error, 0 where it is not known.
func known(se float64) float64 {
	if math.IsNaN(se) || math.IsInf(se, 0) {
		return 0
	}
	return se
}

func methodOf(m study.Measurement) result.Code {
	switch {
	case m.How.Beam && m.How.Line:
		return result.BeamByLine
	case m.How.Beam:
		return result.BeamByRows
	case m.How.Line:
		return result.PlainByLine
	}
	return result.PlainByRows
}
