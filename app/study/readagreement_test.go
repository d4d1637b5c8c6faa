package study

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// agreed is a study of n hips of one film and its double: R1 reads every film twice on lists,
// R2 once; shift is what R2 reads more, and again what R1's second occasion does, px of 0.1 mm.
func agreed(n int, shift, again func(i int) float64) (records []Record) {
	for i := range n {
		hip, day := fmt.Sprint("H", i), time.Date(2020, 1, 1+i, 0, 0, 0, 0, time.UTC)
		r := Record{Hip: Hip{ID: hip, Side: Right, Implant: Implant{HeadMM: 28}, Surgery: day.AddDate(-3, 0, 0)}}
		for k := range 2 {
			f := Film{ID: fmt.Sprint("F", i, k), Facts: Facts{Date: day}}
			r.Films = append(r.Films, f)
			at := func(id, reader string, up float64) Reading {
				g := readingOf(fmt.Sprint(id, i, k), reader, 1, 300, 300-up)
				g.HipID, g.FilmID, g.Film = hip, f.ID, f
				return g
			}
			up := float64(i) + 0.5*float64(k)*float64(1-2*(i%2))
			r.Readings = append(r.Readings, placed(at("a", "R1", up), "L1", 10*i+k+1, 1, ReadList), placed(at("b", "R1", up+again(i)), "L1", 10*i+k+500, 2, ReadList),
				placed(at("c", "R2", up+shift(i)), "L2", 10*i+k+1, 1, ReadList))
		}
		r.Exclusions = []Exclusion{{HipID: hip, FilmID: r.Films[1].ID, Code: DoubleCode}}
		records = append(records, r)
	}
	return records
}

// valueOf is the value of a quantity by what it is of, its model and its name.
func valueOf(t *testing.T, a StudyAgreement, of, model, name string) float64 {
	for _, q := range a.Quantities {
		if q.Of == of && q.Model == model && q.Name == name {
			return q.Value
		}
	}
	t.Fatalf("no %s of %s by %s", name, of, model)
	return 0
}

func TestAgreementOfAStudy(t *testing.T) {
	sign := func(i int) float64 { return float64(1 - 2*(i%2)) }
	records := agreed(10, func(i int) float64 { return 2 + sign(i) }, func(i int) float64 { return sign(i) })
	a, err := AgreementOf(records, nil, false)
	require.NoError(t, err)
	require.Equal(t, []int{10, 20, 60, 60, 10}, []int{a.Hips, a.Films, a.Readings, a.Blind, a.Doubles})
	require.Equal(t, []string{"R1", "R2"}, a.Readers)
	// R1's mean of two occasions lies 0.05 mm above or below the first, R2 0.2 +- 0.1 mm above.
	require.InDelta(t, -0.2, valueOf(t, a, "R1 less R2", "Bland-Altman", "bias"), 1e-9)
	// Occasions differ by 0.1 mm always: s_w = 0.1/sqrt(2), and 1.96 sqrt(2) s_w = 0.196 mm.
	require.InDelta(t, 0.196, valueOf(t, a, "R1", "readings repeated by one reader", "repeatability coefficient"), 1e-3)
	// Films of a double examination differ by 0.05 mm always.
	require.InDelta(t, 0.05/1.4142136, valueOf(t, a, "R1", "double examinations", "within-target SD"), 1e-6)
	require.InDelta(t, 0.05/1.4142136, valueOf(t, a, "R2", "double examinations", "within-target SD"), 1e-6)

	var kinds []string
	for _, p := range a.Pairs {
		kinds = append(kinds, fmt.Sprint(p.Of, " ", p.Kind, " ", len(p.Mean)))
		bias, lower, upper, ok := a.Limits(p)
		require.Equal(t, p.Kind == BetweenReaders, ok)
		if ok {
			require.True(t, lower.Value < bias.Value && bias.Value < upper.Value)
			require.InDelta(t, bias.Value, mean(p.Diff), 1e-9, "the plot shows what is told")
		}
	}
	require.Equal(t, []string{"R1 less R2 between 20", "R1 within 20", "R1 double 10", "R2 double 10"}, kinds)
}

// What was withdrawn, left out, adjudicated or corrected does not count, and is told.
func TestAgreementPassesOver(t *testing.T) {
	none := func(int) float64 { return 0 }
	plain, err := AgreementOf(agreed(5, none, none), nil, false)
	require.NoError(t, err)
	require.Empty(t, plain.Passed)
	records := agreed(5, none, none)
	wild := func(id, reader string, hip int) Reading {
		g := readingOf(id, reader, 9, 300, 100)
		g.HipID, g.FilmID, g.Film = records[hip].Hip.ID, records[hip].Films[0].ID, records[hip].Films[0]
		return g
	}
	withdrawn := wild("w", "R3", 0)
	withdrawn.Withdrawn = &Withdrawal{}
	failed := wild("f", "R3", 1)
	failed.Status = Refused
	records[0].Readings = append(records[0].Readings, withdrawn)
	records[1].Readings = append(records[1].Readings, failed, placed(wild("d", "R4", 1), "L9", 1, 1, AdjudicateList))
	extra := Film{ID: "Fx", Facts: Facts{Date: time.Date(2021, 5, 5, 0, 0, 0, 0, time.UTC)}}
	out := wild("o", "R1", 2)
	out.FilmID, out.Film = extra.ID, extra
	records[2].Films = append(records[2].Films, extra)
	records[2].Readings = append(records[2].Readings, out)
	records[2].Exclusions = append(records[2].Exclusions, Exclusion{FilmID: extra.ID, Code: "exposure"})
	a, err := AgreementOf(records, nil, false)
	require.NoError(t, err)
	require.Equal(t, plain.Quantities, a.Quantities)
	told := ""
	for _, n := range a.Passed {
		told += fmt.Sprint(n.Code, n.Values["N"], " ")
	}
	require.Equal(t, "agree.withdrawn1 agree.left-out1 agree.no-result1 agree.adjudicated1 ", told)
	for _, n := range a.Reported() {
		require.NotEmpty(t, NoteWords(n))
	}

	_, err = AgreementOf(nil, nil, false)
	require.Error(t, err)
}

// A list is not called blinded any more where its reader read a film openly meanwhile.
func TestAgreementTellsWhoWasBlind(t *testing.T) {
	none := func(int) float64 { return 0 }
	records := agreed(5, none, none)
	lists := []List{{ID: "L1", Reader: "R1"}, {ID: "L2", Reader: "R2"}}
	last := records[0].Readings[0].At
	for _, r := range records {
		for _, g := range r.Readings {
			if g.At.After(last) {
				last = g.At
			}
		}
	}
	lists[0].Made.At = records[0].Readings[0].At.Add(-2 * time.Hour)
	open := records[0].Readings[0]
	open.ID, open.Reader, open.Listed = "open", "R2", Listed{}
	for _, c := range []struct {
		name           string
		at             time.Time
		blind, sighted int
	}{
		{"before the list was made", lists[0].Made.At.Add(-time.Hour), 30, 0},
		{"while it was read", lists[0].Made.At.Add(time.Hour), 20, 10},
		{"after it was read", last.Add(time.Hour), 30, 0},
	} {
		lists[1].Made.At = lists[0].Made.At
		open.At = c.at
		more := agreed(5, none, none)
		more[0].Readings = append(more[0].Readings, open)
		a, err := AgreementOf(more, lists, false)
		require.NoError(t, err, c.name)
		require.Equal(t, []int{c.blind, c.sighted}, []int{a.Blind, a.Sighted}, c.name)
	}
}
