package study

import (
	"encoding/json"

	"linerwatch/measure"
)

// proposed is the part of a draft's JSON that a proposal nobody has touched is read from.
type proposed struct {
	Head, Cup proposedOutline
	CupKind   measure.CupKind
	Found     []Warning
	Line      Line
	Rim       Rim
}

type proposedOutline struct {
	Fit         Outline
	Hand, Rough bool
}

func (o proposedOutline) whole() bool { return o.Fit.R > 0 && !o.Hand && !o.Rough }

// Measured returns what would be read from a proposal of the program, for a hip and by the
// method of its films: numbers to look at, which count nowhere. ok is false for a
// reader's draft, and where an outline is still to be placed or nothing can be read.
func (d Draft) Measured(h Hip, f Film) (m Measurement, ok bool) {
	var p proposed
	if d.Kind != Proposed || json.Unmarshal(d.Outlines, &p) != nil || !p.Head.whole() || !p.Cup.whole() || h.Implant.HeadMM <= 0 {
		return m, false
	}
	m = Measurement{Film: f, Status: Measured, Side: h.Side, Head: p.Head.Fit, Cup: p.Cup.Fit, CupKind: p.CupKind,
		HeadMM: h.Implant.HeadMM, Line: p.Line, Rim: p.Rim, Warnings: p.Found}
	if m.Side == SideUnknown {
		m.Side = f.Side()
	}
	m, err := m.Read(Method{Beam: !h.BeamOff, Line: true})
	if err != nil || !finiteVector(m.Reading.Offset) {
		return Measurement{}, false
	}
	return m.For(h), true
}
