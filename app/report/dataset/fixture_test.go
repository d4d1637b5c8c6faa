package dataset_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
	"linerwatch/measure"
)

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return t
}

// measured is a film on which the head lies (sup, med) mm off the cup's centre, each known
// to 0.02 mm.
func measured(name, date string, sup, med float64) study.Measurement {
	const se = 0.02
	m := study.Measurement{
		Film:   study.Film{ID: name, Path: "films/" + name, Facts: study.Facts{SHA256: "ab12", Patient: "Q7-000", Date: day(date), Side: study.Right, SpacingMM: 0.148, SpacingKind: "imager"}},
		Status: study.Measured, Side: study.Right, CupKind: study.Shell, HeadMM: 28,
	}
	m.Head.Circle = measure.Circle{X: 600.5, Y: 500.25, R: 108.125}
	m.Head.Cov = [3][3]float64{{0.0004, 0, 0}, {0, 0.0009, 0}, {0, 0, 0.0001}}
	m.Head.Arc, m.Head.RMS, m.Head.Contrast, m.Head.Clipped = 212, 0.3, 41.5, 0.02
	m.Cup.Circle = measure.Circle{X: 600, Y: 502, R: 208.5}
	m.Cup.Cov, m.Cup.Arc, m.Cup.RMS = m.Head.Cov, 170, 0.4
	m.Reading = measure.Reading{Scale: 0.12948, SEScale: 1e-5,
		Offset:       measure.Vector{Superior: sup, Medial: med, Cov: [2][2]float64{{se * se, 0}, {0, se * se}}},
		Eccentricity: 0.0179, SEEccentricity: 0.0021, Thinnest: 12.761, SEThinnest: 0.034}
	return m
}

// record is a series read by R1: five films measured, one of them left out, one that R1
// gave no result, one unread; R2 read the last film twice.
func record() study.Record {
	h := study.Hip{ID: "Q7-000-right", Patient: "Q7-000", Group: "arm, \"B\"", Side: study.Right, Surgery: day("2004-05-03"),
		Implant: study.Implant{HeadMM: 28, LinerMM: 8, HeadMaterial: "ZTA"}, StartYears: 1}
	r := study.Record{Hip: h, Patient: study.Patient{Code: h.Patient}}
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	for i, m := range []study.Measurement{
		measured("a.dcm", "2004-06-16", 0.02, -0.01), measured("b.dcm", "2005-06-20", 0.31, 0.03), measured("c.dcm", "2007-05-02", 0.52, 0.05),
		measured("d.dcm", "2009-06-11", 0.74, 0.02), measured("e.dcm", "2014-05-04", 1.29, 0.11),
		{Film: study.Film{Path: "films/f.dcm", Facts: study.Facts{Date: day("2010-01-05")}}, Status: study.Refused, Reason: study.Note{Text: "no hip replacement found"}},
		{Film: study.Film{Path: "films/g.dcm"}, Status: study.Failed, Reason: study.Note{Text: "malformed: no pixels"}},
	} {
		m.Film.ID = "F" + string(rune('a'+i))
		r.Films = append(r.Films, m.Film)
		if m.Status == study.Failed {
			continue
		}
		r.Readings = append(r.Readings, study.Reading{ID: "r1" + m.Film.ID, FilmID: m.Film.ID, Reader: "R1", At: at, Version: "0.1", Measurement: m}.Bare())
	}
	for _, id := range []string{"r2", "r3"} {
		g := r.Readings[4]
		g.ID, g.Reader, g.At = id, "R2", at.AddDate(0, 0, len(r.Readings))
		g.Measurement.Reading.Offset.Superior += 0.125
		if id == "r3" {
			g.Supersedes = "r2"
		}
		r.Readings = append(r.Readings, g)
	}
	r.Exclusions = []study.Exclusion{{HipID: h.ID, FilmID: "Fc", Code: "projection", Note: "pelvis\nturned", Reader: "R1", At: at}}
	return r
}

// source is a study in memory.
type source struct {
	records   []study.Record
	waiting   []study.Film
	patients  []study.Patient
	variables []study.Variable
	lists     []study.List
	values    []study.Value // of patients without a hip
	damage    error

	disclosures []study.Disclosure
}

func kept(records ...study.Record) *source { return &source{records: records} }

func (s *source) Records(_ context.Context, each func(study.Record) error) error {
	for _, r := range s.records {
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}

func (s *source) Unsorted(context.Context) ([]study.Film, error)      { return s.waiting, nil }
func (s *source) Patients(context.Context) ([]study.Patient, error)   { return s.patients, nil }
func (s *source) Variables(context.Context) ([]study.Variable, error) { return s.variables, nil }
func (s *source) Lists(context.Context) ([]study.List, error)         { return s.lists, nil }
func (s *source) Disclosures(context.Context) ([]study.Disclosure, error) {
	return s.disclosures, nil
}
func (s *source) TrailEnd(context.Context) (int64, string, error) { return 0, "", nil }
func (s *source) Check(context.Context) error                     { return s.damage }
func (s *source) Values(_ context.Context, of study.VariableOf, id string) ([]study.Value, error) {
	return slices.DeleteFunc(slices.Clone(s.values), func(v study.Value) bool { return v.Of != of || v.ID != id }), nil
}

// memory are the files of a package.
type memory struct {
	files map[string]*bytes.Buffer
	told  dataset.Told
}

type inMemory struct{ *bytes.Buffer }

func (inMemory) Close() error { return nil }

func (m *memory) create(name string) (io.WriteCloser, error) {
	m.files[name] = new(bytes.Buffer)
	return inMemory{m.files[name]}, nil
}

// exported writes a study.
func exported(t *testing.T, o dataset.Options, from *source) *memory {
	t.Helper()
	m := &memory{files: map[string]*bytes.Buffer{}}
	var err error
	m.told, err = dataset.Write(t.Context(), from, m.create, o)
	require.NoError(t, err)
	return m
}

// table reads a table back by column.
func (m *memory) table(t *testing.T, name string) []map[string]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(m.files[name+".csv"].Bytes())).ReadAll()
	require.NoError(t, err)
	require.Equal(t, len(rows)-1, m.told.Rows[name])
	var out []map[string]string
	for _, row := range rows[1:] {
		line := map[string]string{}
		for i, c := range row {
			require.NotEmpty(t, c, "%s: an empty cell in %s", name, rows[0][i])
			line[rows[0][i]] = c
		}
		out = append(out, line)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err, "%q", s)
	return v
}
