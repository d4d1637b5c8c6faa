package study

import (
	"encoding/json"
	"strings"

	"linerwatch/measure"
)

// Provenance says what a proposal comes from, so that it can be made again. None has a reader.
type Provenance struct {
	Program, Version string
	Commit           string // that the program was built from; "unknown" where it does not know
	HeadMM           float64
	Side             measure.Side
	View             View // that was told of the film in place of its file
}

// NewProvenance returns that of what a version of the program proposes for a hip on a film.
func NewProvenance(version string, h Hip, f Film) Provenance {
	number, commit, _ := strings.Cut(version, "+")
	if commit == "" {
		commit = "unknown"
	}
	return Provenance{Program: "linerwatch", Version: number, Commit: commit, HeadMM: h.Implant.HeadMM, Side: h.Side, View: f.Given.View}
}

// Asks reports whether o is what the program was asked as it would be for a hip on a film now.
func (o Provenance) Asks(h Hip, f Film) bool {
	return o.HeadMM == h.Implant.HeadMM && o.Side == h.Side && o.View == f.Given.View
}

// Proposal is what a draft of the kind Proposed holds: outlines by the program, without the
// points that they were fitted to, which a search finds again.
type Proposal struct {
	Head, Cup ProposedOutline
	CupKind   measure.CupKind
	Found     []Warning
	Line      Line
	Rim       Rim
	From      Provenance `json:",omitzero"` // none in studies of before
}

// ProposedOutline is one outline of a proposal. Those by hand, or only about where it may
// be, are of drafts that were kept before.
type ProposedOutline struct {
	Fit         measure.Outline
	Hand, Rough bool `json:",omitempty"`
}

func (o ProposedOutline) whole() bool { return o.Fit.R > 0 && !o.Hand && !o.Rough }

// NewProposal returns the proposal of outlines that the program has found.
func NewProposal(head, cup measure.Outline, kind measure.CupKind, from Provenance) Proposal {
	p := Proposal{Head: ProposedOutline{Fit: head}, Cup: ProposedOutline{Fit: cup}, CupKind: kind, From: from}
	for _, o := range []*measure.Outline{&p.Head.Fit, &p.Cup.Fit} {
		o.Points, o.Residuals, o.Edges = nil, nil, nil
	}
	return p
}

// Proposal returns what a draft of the kind Proposed holds; ok is false for a reader's
// draft, and where an outline is still to be placed.
func (d Draft) Proposal() (p Proposal, ok bool) {
	if d.Kind != Proposed || json.Unmarshal(d.Outlines, &p) != nil || !p.Head.whole() || !p.Cup.whole() {
		return Proposal{}, false
	}
	return p, true
}

// Measured returns what would be read from a proposal of the program, for a hip and by the
// method of its films: numbers to look at, which count nowhere. ok is false where there is
// no Proposal or nothing can be read.
func (d Draft) Measured(h Hip, f Film) (m Measurement, ok bool) {
	p, ok := d.Proposal()
	if !ok || h.Implant.HeadMM <= 0 {
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
