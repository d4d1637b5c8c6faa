// Package findingstest makes up studies for tests: hips of groups with films, readings of
// several readers, and some of all that goes wrong.
package findingstest

import (
	"fmt"
	"math/rand/v2"
	"time"

	"linerwatch/app/study"
)

// Study says what is made up.
type Study struct {
	Hips    int
	Groups  []string // empty for none; each hip in turn is of one
	Readers int      // of each film; 1 where 0
	Films   int      // of each hip; 5 where 0
	// Faults has every tenth hip go wrong, each of ten in another way: no film, none read,
	// two films of a day, one film left out, one film late, a lateral film, ...
	Faults    bool
	LongNames bool
	Events    bool // every sixth liner is exchanged, every eleventh patient dies
	Listed    bool // readers read from lists, R1 the first film of each hip twice, and graded films; the first film was adjudicated
}

// rates are the steady-state rates of groups, mm/year, the spread of hips about them and of
// readings about the truth, mm.
var rates = []float64{0.04, 0.12, 0.08, 0.2}

const (
	rateSD    = 0.025
	readingSD = 0.07
	readerSD  = 0.04
	settledMM = 0.12
	mmPerPX   = 0.14
)

// Records makes up the hips of a study, the same ones each time.
func (s Study) Records() []study.Record {
	r := rand.New(rand.NewPCG(17, 4))
	out := make([]study.Record, 0, s.Hips)
	for i := range s.Hips {
		out = append(out, s.record(r, i))
	}
	return out
}

func (s Study) record(r *rand.Rand, i int) study.Record {
	h := study.Hip{ID: fmt.Sprint("H", i+1), Patient: fmt.Sprintf("P-%04d", i+1), Side: study.Right, BeamOff: true, Revision: 1,
		Surgery: time.Date(2004+i%8, time.Month(1+i%12), 3, 0, 0, 0, 0, time.UTC),
		Implant: study.Implant{HeadMM: []float64{28, 32, 36}[i%3], LinerMM: 6.2, PE: []string{"XLPE", "UHMWPE"}[i%2], HeadMaterial: "CoCr", ShellMM: 52, Fixation: "uncemented"}}
	if i%9 == 8 {
		h.Patient, h.Side = fmt.Sprintf("P-%04d", i), study.Left
	}
	if s.LongNames {
		h.Patient += "-CENTRE-OF-THE-WESTERN-REGION-ÄÖÜ"
	}
	rate := rates[0]
	if n := len(s.Groups); n > 0 {
		h.Group, rate = s.Groups[i%n], rates[i%n%len(rates)]
	}
	rate += rateSD * r.NormFloat64()
	rec := study.Record{Hip: h, Patient: study.Patient{Code: h.Patient, Sex: []string{"female", "male"}[i%2], HeightCM: 160 + float64(i%25), WeightKG: 60 + float64(i%40)}}
	years := []float64{0.12, 1.05, 2.1, 5, 10.2, 15, 20, 3, 4, 6, 7, 8}
	films := s.Films
	if films == 0 {
		films = 5
	}
	for k := range films {
		s.film(&rec, r, k, years[k%len(years)]*(1+0.04*r.NormFloat64()), rate)
	}
	if s.Listed {
		s.list(&rec, i)
	}
	s.happen(&rec, i)
	if s.Faults && i%10 == 9 {
		spoil(&rec, i/10%8)
	}
	return rec
}

// film adds a film with its readings.
func (s Study) film(rec *study.Record, r *rand.Rand, k int, years, rate float64) {
	h := rec.Hip
	name := fmt.Sprintf("%s-%d", h.ID, k+1)
	f := study.Film{ID: "F" + name, Path: "films/" + name + ".dcm", Revision: 1, Facts: study.Facts{SHA256: fmt.Sprintf("%064d", r.Uint32()), PixelKey: name,
		Patient: h.Patient, Date: h.Surgery.AddDate(0, 0, int(years*365.25)), Side: h.Side, View: study.AP, Width: 2400, Height: 2880, SpacingMM: 0.168, SpacingKind: "imager"}}
	rec.Films, rec.Links = append(rec.Films, f), append(rec.Links, study.Link{HipID: h.ID, FilmID: f.ID})
	moved := rate*years + settledMM*min(years, 1)
	for reader := range max(s.Readers, 1) {
		up := moved + readerSD*float64(reader) + readingSD*r.NormFloat64()
		rec.Readings = append(rec.Readings, reading(h, f, fmt.Sprint("R", reader+1), up, 0.03*r.NormFloat64()))
	}
}

// reading is one of a head that lies up and to the side of the cup's centre, mm.
func reading(h study.Hip, f study.Film, reader string, up, side float64) study.Reading {
	outline := func(x, y, radius float64) (o study.Outline) {
		o.Circle = study.Circle{X: x, Y: y, R: radius}
		o.Cov = [3][3]float64{{0.06, 0.003, 0}, {0.003, 0.08, 0}, {0, 0, 0.005}}
		o.Shared = [3][3]float64{{0.001, 0, 0}, {0, 0.001, 0}, {0, 0, 0.001}}
		o.Arc, o.RMS, o.Contrast = 301, 0.3, 12
		return o
	}
	g := study.Reading{ID: "X" + f.ID + reader, HipID: h.ID, FilmID: f.ID, Reader: reader, Version: "0.1", At: time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)}
	g.Film, g.Status, g.Side, g.HeadMM, g.CupKind = f, study.Measured, h.Side, h.Implant.HeadMM, study.Shell
	g.Head = outline(800+side/mmPerPX, 900-up/mmPerPX, h.Implant.HeadMM/2/mmPerPX)
	g.Cup = outline(800, 900, 26/mmPerPX)
	g.Kept = study.Kept{Head: 120, Cup: 120}
	m, err := g.Read(study.Method{})
	if err != nil {
		panic(err) // a slip in what is made up
	}
	g.Measurement = m
	return g
}

// spoil has one thing go wrong with a hip.
func spoil(r *study.Record, how int) {
	last := len(r.Films) - 1
	switch how {
	case 0: // no film
		r.Films, r.Links, r.Readings = nil, nil, nil
	case 1: // none read
		r.Readings = nil
	case 2: // two films of one day
		r.Films[last].Facts.Date = r.Films[last-1].Facts.Date
		for i := range r.Readings {
			if r.Readings[i].FilmID == r.Films[last].ID {
				r.Readings[i].Film.Facts.Date = r.Films[last].Facts.Date
			}
		}
	case 3: // a film left out
		r.Exclusions = append(r.Exclusions, study.Exclusion{HipID: r.Hip.ID, FilmID: r.Films[last].ID, Code: "projection", Reader: "R1"})
	case 4: // two films alone are read, neither in the steady state but one
		only(r, 2)
	case 5:
		only(r, 1)
	case 6: // a reading taken back
		g := &r.Readings[len(r.Readings)-1]
		g.Withdrawn = &study.Withdrawal{ReadingID: g.ID, Reader: g.Reader, At: g.At}
	case 7: // a reading of a film that cannot be measured
		for i := range r.Readings {
			if r.Readings[i].FilmID == r.Films[last].ID {
				r.Readings[i].Status, r.Readings[i].Reason = study.Refused, study.Note{Text: "arc too short"}
			}
		}
	}
}

// only has the readings of the first films alone stay.
func only(r *study.Record, films int) {
	var out []study.Reading
	for _, g := range r.Readings {
		for _, f := range r.Films[:min(films, len(r.Films))] {
			if g.FilmID == f.ID {
				out = append(out, g)
			}
		}
	}
	r.Readings = out
}

// happen has a liner exchanged, or a patient die, after the last film.
func (s Study) happen(r *study.Record, i int) {
	if !s.Events || len(r.Films) == 0 {
		return
	}
	e := study.Event{ID: "E" + r.Hip.ID, HipID: r.Hip.ID, Date: r.Films[len(r.Films)-1].Facts.Date.AddDate(0, 4+i%9, 0)}
	switch {
	case i%6 == 5:
		e.Kind = study.LinerExchanged
	case i%11 == 10:
		e.Kind = study.Died
	default:
		return
	}
	r.Events = append(r.Events, e)
}
