// Package reporttest makes hips for tests of reports.
package reporttest

import (
	"encoding/json"
	"fmt"
	"math"
	"time"

	"linerwatch/app/study"
)

// Case is a hip whose films have been read.
type Case struct {
	Name   string
	Record study.Record
}

// Surgery is the day of surgery of all hips here.
var Surgery = time.Date(2004, 5, 3, 0, 0, 0, 0, time.UTC)

// film is a film on which the head lies (sup, med) mm off the cup's centre, each known to se.
func film(i int, years, sup, med, se float64) study.Measurement {
	m := study.Measurement{
		Film: study.Film{ID: fmt.Sprint("F", i), Path: fmt.Sprintf("films/film-%02d.dcm", i), Facts: study.Facts{
			SHA256: fmt.Sprintf("%064x", i+1), Patient: "Q7-000", Date: Surgery.AddDate(0, 0, int(math.Round(years*365.25))),
			Side: study.Right, SpacingMM: 0.148, SpacingKind: "imager"}},
		Status: study.Measured, Side: study.Right, CupKind: study.Shell, HeadMM: 28,
		Beam: study.BeamUse{Reason: study.Note{Code: "beam.no-source"}},
	}
	const scale = 0.12948
	m.Head.X, m.Head.Y, m.Head.R = 600+med/scale, 500-sup/scale, 108.125
	m.Head.Cov = [3][3]float64{{0.0004, 0, 0}, {0, 0.0009, 0}, {0, 0, 0.0001}}
	m.Head.Arc, m.Head.RMS, m.Head.Contrast = 212, 0.3, 41.5
	m.Cup.X, m.Cup.Y, m.Cup.R = 600, 500, 200
	m.Cup.Cov = m.Head.Cov
	m.Cup.Arc, m.Cup.RMS, m.Cup.Contrast = 170, 0.4, 22
	m.Reading.Scale, m.Reading.SEScale = scale, 1e-5
	m.Reading.Offset.Superior, m.Reading.Offset.Medial = sup, med
	m.Reading.Offset.Cov = [2][2]float64{{se * se, 0}, {0, se * se}}
	m.Reading.Eccentricity, m.Reading.SEEccentricity, m.Reading.Thinnest, m.Reading.SEThinnest = 0.0179, 0.0021, 11.8, 0.034
	return m
}

// Hip is a hip whose films at years show a movement, mm up and medial, that readers R1 have
// accepted. scatter is added to the films by turns.
func Hip(years []float64, up, medial func(years float64) float64, scatter float64) study.Record {
	r := study.Record{Hip: study.Hip{ID: "H1", Patient: "Q7-000", Side: study.Right, Surgery: Surgery, StartYears: 1,
		Implant: study.Implant{HeadMM: 28, LinerMM: 8, PE: "XLPE", HeadMaterial: "CoCr", ShellMM: 52, Fixation: "uncemented"}}}
	for i, y := range years {
		m := film(i, y, up(y)+scatter*[]float64{0, 1, -1, 0.5}[i%4], medial(y), 0.03)
		r.Films = append(r.Films, m.Film)
		r.Links = append(r.Links, study.Link{HipID: "H1", FilmID: m.Film.ID})
		r.Readings = append(r.Readings, study.Reading{ID: fmt.Sprint("r", i), HipID: "H1", FilmID: m.Film.ID, Reader: "R1",
			At: time.Date(2026, 1, 5, 9, i, 0, 0, time.UTC), Version: "0.1.0", Measurement: m})
	}
	return r
}

// Unread is the record without the readings of its last n films, on which the program proposes
// what was read.
func Unread(r study.Record, n int) study.Record {
	at := len(r.Readings) - n
	for _, g := range r.Readings[at:] {
		type outline struct{ Fit study.Outline }
		p := struct {
			Head, Cup outline
			CupKind   string
		}{outline{g.Head}, outline{g.Cup}, string(g.CupKind)}
		data, err := json.Marshal(p)
		if err != nil {
			panic(err) // numbers alone
		}
		r.Unaccepted = append(r.Unaccepted, study.Draft{HipID: r.Hip.ID, FilmID: g.FilmID, Kind: study.Proposed, At: g.At, Version: g.Version, Outlines: data})
	}
	r.Readings = r.Readings[:at]
	return r
}

func even(n int, from, to float64) (out []float64) {
	for i := range n {
		out = append(out, from+(to-from)*float64(i)/float64(n-1))
	}
	return out
}

// Known is a hip of which everything is known: how the liner was made, what happened, how the
// films were graded, and that they were read from lists, one of them twice.
func Known() study.Record {
	r := Hip([]float64{0.12, 1.1, 2.9, 5.1, 10}, func(y float64) float64 { return 0.1 + 0.1*y }, func(float64) float64 { return 0 }, 0.02)
	h, m := &r.Hip, &r.Hip.Implant
	h.Site, h.Age, h.Group = "S1", 63, "Arm A"
	m.LinerInnerMM, m.LinerOuterMM, m.Irradiated, m.DoseKGy, m.Stabiliser, m.Lipped = 28.3, 48, study.Yes, 95, "vitamin E", study.No
	m.Catalogue = "liner, neutral, size 52, catalogue number 000-000-000, as it stands on the label"
	at := func(day int) study.Stamp {
		return study.Stamp{Reader: "R3", At: time.Date(2026, 1, day, 8, 0, 0, 0, time.UTC)}
	}
	r.Events = []study.Event{
		{ID: "E1", HipID: h.ID, Kind: study.CupRevised, Date: Surgery.AddDate(9, 0, 0), Stamp: at(2)},
		{ID: "E2", HipID: h.ID, TakesBack: "E1", Stamp: at(3)},
		{ID: "E3", HipID: h.ID, Kind: study.LinerExchanged, Date: Surgery.AddDate(12, 0, 0), Implant: study.Implant{HeadMM: 32, PE: "XLPE"}, Note: "at another place", Stamp: at(4)},
	}
	for i, quality := range []string{"A", "B", "C"} {
		r.Grades = append(r.Grades, study.Grade{HipID: h.ID, FilmID: r.Films[i].ID, Quality: quality, Reason: []string{"", "tilt", "blur"}[i], Stamp: study.Stamp{Reader: "R1", At: at(5).At}})
	}
	for i := range r.Readings {
		r.Readings[i].Listed = study.Listed{List: "L1", Kind: study.ReadList, Place: 7 - i, Occasion: 1, Start: study.StartBlank}
	}
	again := r.Readings[1]
	again.ID, again.Listed.Place, again.Listed.Occasion = "r1b", 9, 2
	again.Listed.Start, again.Listed.Untouched = study.StartProposal, true
	r.Readings = append(r.Readings, again)
	return r
}

// Cases are the hips that reports have to tell well: few films and many, an unknown liner,
// no rate, a movement away from the dome, long words, a film left out.
func Cases() []Case {
	line := func(start, rate float64) func(float64) float64 {
		return func(y float64) float64 { return start + rate*y }
	}
	usual := []float64{0.12, 1.1, 2.9, 5.1, 10}
	whole := Hip(usual, func(y float64) float64 { return 0.2*(1-math.Exp(-y/0.3)) + 0.1*y }, line(0, 0.02), 0.02)
	noLiner := Hip(usual, line(0.1, 0.05), line(0, 0), 0.02)
	noLiner.Hip.Implant = study.Implant{HeadMM: 28}
	long := Hip(usual, line(0.1, 0.2), line(0, 0.05), 0.03)
	long.Hip.Patient = "Q7-000"
	for i := range long.Films {
		long.Films[i].Path = "films/a-name-of-a-file-that-somebody-made-far-too-long-to-stand-in-a-column-" + fmt.Sprint(i) + ".dcm"
		long.Readings[i].Film = long.Films[i]
		long.Readings[i].Reader = "READER-OF-A-VERY-LONG-CODE-OF-A-VERY-LARGE-STUDY"
	}
	out := Hip(usual, line(0.1, 0.1), line(0, 0), 0.02)
	out.Exclusions = []study.Exclusion{{HipID: "H1", FilmID: "F2", Code: "projection", Note: "obturator foramen narrow", Reader: "R1", At: time.Date(2026, 1, 6, 9, 0, 0, 0, time.UTC)}}
	all := Known()
	doubt := Hip(usual, line(0.1, 0.1), line(0, 0), 0.02)
	for i := range doubt.Readings {
		doubt.Readings[i].Film.Facts.SpacingMM = 0.3
	}
	exchanged := Hip(even(9, 0.12, 16), line(0.1, 0.1), line(0, 0), 0.02)
	exchanged.Events = []study.Event{{ID: "E1", Kind: study.LinerExchanged, Date: exchanged.Films[4].Date(), Implant: study.Implant{LinerMM: 7}, Stamp: study.Stamp{Reader: "R1", At: time.Date(2026, 1, 6, 9, 0, 0, 0, time.UTC)}}}
	exchanged.Hip.Until = study.UntilOf(exchanged.Events)
	return []Case{
		{"whole", whole},
		{"two films", Hip([]float64{1.1, 6}, line(0, 0.1), line(0, 0.01), 0)},
		{"one film", Hip([]float64{1.1}, line(0, 0.1), line(0, 0), 0)},
		{"twenty films", Hip(even(20, 0.12, 19), line(0.1, 0.08), line(0, 0.01), 0.03)},
		{"no liner thickness", noLiner},
		{"no rate", Hip([]float64{0.12, 0.6, 1.2}, line(0, 0.1), line(0, 0), 0.01)},
		{"away from the dome", Hip(usual, line(0, -0.08), line(0, 0.01), 0.01)},
		{"none to tell", Hip(usual, line(0, 0), line(0, 0), 0.01)},
		{"a film left out", out},
		{"long words", long},
		{"a doubtful scale", doubt},
		{"all that is known", all},
		{"after an exchange", exchanged},
	}
}
