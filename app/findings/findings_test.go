package findings_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/findings"
	"linerwatch/app/findings/findingstest"
	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

func tell(o findings.Options, records []study.Record, waiting ...study.Film) findings.Findings {
	g := findings.New(o)
	for _, r := range records {
		g.Add(r)
	}
	for _, f := range waiting {
		g.Wait(f)
	}
	return g.Tell()
}

// made is a study whose hips are made up.
type made []study.Record

func (m made) Records(_ context.Context, each func(study.Record) error) error {
	for _, r := range m {
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}

func (m made) Unsorted(context.Context) ([]study.Film, error)          { return nil, nil }
func (m made) Patients(context.Context) ([]study.Patient, error)       { return nil, nil }
func (m made) Variables(context.Context) ([]study.Variable, error)     { return nil, nil }
func (m made) Lists(context.Context) ([]study.List, error)             { return nil, nil }
func (m made) Check(context.Context) error                             { return nil }
func (m made) Disclosures(context.Context) ([]study.Disclosure, error) { return nil, nil }
func (m made) TrailEnd(context.Context) (int64, string, error)         { return 0, "", nil }
func (m made) Values(context.Context, study.VariableOf, string) ([]study.Value, error) {
	return nil, nil
}

// file is one that is kept in memory.
type file struct{ *bytes.Buffer }

func (file) Close() error { return nil }

// exported is a table of the study's export.
func exported(t *testing.T, records []study.Record, table string) *bytes.Buffer {
	t.Helper()
	files := map[string]*bytes.Buffer{}
	_, err := dataset.Write(t.Context(), made(records), func(name string) (io.WriteCloser, error) {
		files[name] = new(bytes.Buffer)
		return file{files[name]}, nil
	}, dataset.Options{Whose: study.Anyone})
	require.NoError(t, err)
	return files[table+".csv"]
}

// TestNumbersAreThoseOfTheTables compares what is told of a study with what the commands
// tell of its export.
func TestNumbersAreThoseOfTheTables(t *testing.T) {
	records := findingstest.Study{Hips: 14, Groups: []string{"A", "B"}, Readers: 2}.Records()
	f := tell(findings.Options{Model: true}, records)
	names := tables.Columns{"hip": "hip_id", "penetration_mm": "penetration_superior_mm", "se_mm": "se_penetration_superior_mm", "se_baseline_mm": "se_baseline_superior_mm"}

	rates, bad, err := tables.Rates(exported(t, records, "films"), names, study.DefaultStartYears)
	require.NoError(t, err)
	require.Empty(t, bad)
	require.Len(t, rates, len(f.Hips))
	for i, r := range rates {
		require.InDelta(t, r.Fit.Rate, f.Hips[i].Fit.Rate, 1e-9, r.Hip)
		require.InDelta(t, r.Fit.Lo95, f.Hips[i].Fit.Lo95, 1e-9, r.Hip)
	}

	agreed, _, err := tables.Agreement(exported(t, records, "readings"), tables.Columns{"value": "offset_superior_mm"}, "mm")
	require.NoError(t, err)
	same(t, agreed, f.Readers.Quantities)
	require.Len(t, f.Readers.Pairs, 1)
	require.Len(t, f.Readers.Pairs[0].Diff, 14*5)
	var mean float64
	for _, d := range f.Readers.Pairs[0].Diff {
		mean += d / 70
	}
	for _, q := range f.Readers.Quantities {
		if q.Name == "bias" {
			require.InDelta(t, q.Value, mean, 1e-9, "the points are those of the bias")
		}
	}

	films := withGroups(t, exported(t, records, "films"), records)
	names["patient"], names["group"] = "patient", "group"
	mixed, _, err := tables.Mixed(films, names, true, study.CohortOptions{})
	require.NoError(t, err)
	same(t, mixed, append(f.Cohort.Mixed, f.Cohort.Own...))
}

// withGroups adds patient and group to a table of films where it has none.
func withGroups(t *testing.T, table *bytes.Buffer, records []study.Record) *bytes.Buffer {
	t.Helper()
	of := map[string]study.Hip{}
	for _, r := range records {
		of[r.Hip.ID] = r.Hip
	}
	var out bytes.Buffer
	for i, line := range bytes.Split(bytes.TrimSpace(table.Bytes()), []byte("\n")) {
		line = bytes.TrimSpace(line)
		id, _, _ := bytes.Cut(line, []byte(","))
		switch h := of[string(id)]; {
		case i == 0 && bytes.Contains(line, []byte(",group,")):
			return table
		case i == 0:
			fmt.Fprintf(&out, "%s,patient,group\n", line)
		default:
			fmt.Fprintf(&out, "%s,%s,%s\n", line, h.Patient, h.Group)
		}
	}
	return &out
}

// same compares quantities but for the texts of hips, which a table may name otherwise.
func same(t *testing.T, want, got []study.Quantity) {
	t.Helper()
	at := func(list []study.Quantity) map[string]study.Quantity {
		out := map[string]study.Quantity{}
		for _, q := range list {
			out[q.Model+"/"+q.Name+"/"+q.Unit+"/"+q.Of] = q
		}
		return out
	}
	w, g := at(want), at(got)
	require.NotEmpty(t, g)
	shared := 0
	for key, q := range g {
		v, ok := w[key]
		if !ok {
			continue
		}
		shared++
		if q.Exists() {
			require.InEpsilon(t, 1+v.Value, 1+q.Value, 1e-6, key)
			require.Equal(t, v.HasInterval, q.HasInterval, key)
		}
	}
	require.Equal(t, len(g), shared, "every number told is in the table's")
}

func TestFlowAddsUp(t *testing.T) {
	records := findingstest.Study{Hips: 100, Groups: []string{"A", "B"}, Faults: true}.Records()
	waiting := []study.Film{{ID: "w1", Waits: study.NotAP}, {ID: "w2", Waits: study.Unreadable}, {ID: "w3", Waits: study.NotSorted}}
	f := tell(findings.Options{}, records, waiting...)
	films := len(waiting)
	for _, r := range records {
		films += len(r.Films)
	}
	require.Equal(t, 100, f.HipFlow[0].N)
	require.Equal(t, films, f.FilmFlow[0].N)
	for _, flow := range []findings.Flow{f.HipFlow, f.FilmFlow} {
		for i, s := range flow[:len(flow)-1] {
			gone := 0
			for _, o := range s.Out {
				require.Positive(t, o.N)
				gone += o.N
			}
			require.Equal(t, s.N, flow[i+1].N+gone, s.Key)
		}
	}

	var penetration, line, fit, interval int
	for _, h := range f.Hips {
		penetration += len(h.Films)
		if h.Fit != nil {
			fit++
			if h.Fit.HasInterval {
				interval++
			}
			for _, p := range h.Films {
				if p.InLine {
					line++
				}
			}
		}
	}
	require.Equal(t, penetration, f.FilmFlow[3].N, "the films of the hips are those of the flow")
	require.Equal(t, line, f.FilmFlow[4].N)
	require.Equal(t, fit, f.HipFlow[2].N)
	require.Equal(t, interval, f.HipFlow[3].N)
	codes := map[string]int{}
	for _, s := range append(f.HipFlow, f.FilmFlow...) {
		for _, o := range s.Out {
			codes[o.Why.Code] += o.N
		}
	}
	for _, code := range []string{"flow.no-film", "flow.none-read", "flow.no-series", "flow.few-films", "flow.no-hip", "flow.left-out", "flow.not-read", "flow.film-fault", "flow.hip-without-line", "flow.early"} {
		require.Positive(t, codes[code], code)
	}
	require.Equal(t, 3, codes["flow.no-hip"])
}

func TestVisitsAreTheMeans(t *testing.T) {
	records := findingstest.Study{Hips: 12}.Records()
	f := tell(findings.Options{}, records)
	require.NotEmpty(t, f.Visits)
	for _, v := range f.Visits {
		require.Equal(t, []int{12}, v.N, "each hip has one film at each visit")
		require.Len(t, v.Of, 1)
		require.True(t, v.Of[0].Interval.Contains(v.Of[0].Value))
		var sum float64
		for _, h := range f.Hips {
			for _, p := range h.Films {
				if !p.Baseline && p.Years >= v.From && p.Years < v.To {
					sum += p.MM
				}
			}
		}
		require.InDelta(t, sum/12, v.Of[0].Value, 1e-12)
	}
	require.NotEqual(t, 42/365.25, f.Visits[0].Years, "baseline films, 0 by definition, make no visit")
}

func TestWhatIsMissingIsSaid(t *testing.T) {
	for _, c := range []struct {
		name                   string
		made                   findingstest.Study
		mixed, readers, liners string
	}{
		{"no hip", findingstest.Study{}, "findings.no-film", "findings.no-reading", "findings.no-event"},
		{"one reader", findingstest.Study{Hips: 8}, "", "findings.one-reader", "findings.no-event"},
		{"one hip", findingstest.Study{Hips: 1, Readers: 2}, "fit.few-films", "", "findings.no-event"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := tell(findings.Options{Model: true}, c.made.Records())
			require.Equal(t, c.mixed, f.Cohort.WhyMixed.Code)
			require.Equal(t, c.readers, f.Readers.Why.Code)
			require.Equal(t, c.liners, f.Liners.Why.Code)
		})
	}
}

func TestGroupings(t *testing.T) {
	records := findingstest.Study{Hips: 9, Groups: []string{"A", ""}}.Records()
	require.Equal(t, []string{findings.UnknownGroup, "A"}, tell(findings.Options{}, records).Groups)
	require.Equal(t, []string{"28 mm", "32 mm", "36 mm"}, tell(findings.Options{By: findings.ByHead}, records).Groups)
	f := tell(findings.Options{}, findingstest.Study{Hips: 40, Groups: []string{"A", "B"}}.Records())
	require.Len(t, f.Above, 2)
	require.Greater(t, f.Above[1].N, f.Above[0].N, "hips of B wear more")
	for _, a := range f.Above {
		require.Equal(t, 20, a.Hips)
		require.True(t, a.Share.Contains(float64(a.N)/float64(a.Hips)))
	}
}
