package session

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// Package study reads the outlines that this package keeps, by their names in JSON: what
// is kept here must be what is read there.
func TestDraftsAreReadByStudy(t *testing.T) {
	b := opened(t)
	f := b.strip.Selected()
	h := hip()
	read := func(d Draft) (study.Measurement, bool) {
		text, err := json.Marshal(d)
		require.NoError(t, err)
		return study.Draft{Kind: study.Proposed, Outlines: text}.Measured(h, f.Film)
	}
	d := *f.proposal
	d.Found = []study.Warning{{Code: "test", Text: "a warning of the search"}}
	d.Line = study.Line{Alpha: 3, From: "T"}
	d.Rim = study.Rim{Why: study.Note{Code: "rim.steep"}}
	m, ok := read(d)
	require.True(t, ok)
	require.Equal(t, []any{d.Head.Fit, d.Cup.Fit, d.CupKind, d.Line, d.Rim}, []any{m.Head, m.Cup, m.CupKind, m.Line, m.Rim})
	require.Contains(t, m.Warnings, d.Found[0])
	want, err := study.Measurement{Film: f.Film, Status: study.Measured, Side: h.Side, HeadMM: h.Implant.HeadMM, Head: d.Head.Outline(),
		Cup: d.Cup.Outline(), CupKind: d.CupKind, Line: d.Line, Rim: d.Rim, Warnings: d.Found}.Read(study.Method{Beam: !h.BeamOff, Line: true})
	require.NoError(t, err)
	require.Equal(t, want.Reading, m.Reading, "as the window would read it")

	for name, hurt := range map[string]func(*Draft){
		"head by hand":  func(d *Draft) { d.Head = d.Head.put(measure.Circle{X: 301, Y: 305, R: headRadius}, 1) },
		"cup by hand":   func(d *Draft) { d.Cup = d.Cup.put(measure.Circle{X: 301, Y: 305, R: cupRadius}, 1) },
		"rough head":    func(d *Draft) { d.Head.Rough = true },
		"rough cup":     func(d *Draft) { d.Cup.Rough = true },
		"no head's fit": func(d *Draft) { d.Head.Fit = measure.Outline{} },
		"no cup's fit":  func(d *Draft) { d.Cup.Fit = measure.Outline{} },
	} {
		edited := d
		hurt(&edited)
		_, ok := read(edited)
		require.False(t, ok, name)
	}

	// As it is kept where a reader has placed an outline: that is no proposal.
	b.Edits().Nudge(1, 0)
	require.True(t, f.Draft.Head.Hand || f.Draft.Cup.Hand)
	_, ok = read(*f.Draft)
	require.False(t, ok)
	text, err := json.Marshal(f.Draft)
	require.NoError(t, err)
	_, ok = study.Draft{Kind: study.Edited, Outlines: text}.Measured(h, f.Film)
	require.False(t, ok)
}
