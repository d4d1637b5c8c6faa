package study

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// readingOf is a reading of film F1 of hip H1 that puts the head at (x, y), at 0.1 mm a pixel.
func readingOf(id, reader string, minute int, x, y float64) Reading {
	m := Measurement{Film: Film{ID: "F1"}, Status: Measured, Side: Right, HeadMM: 28, CupKind: Shell}
	m.Head.Circle, m.Cup.Circle = Circle{X: x, Y: y, R: 140}, Circle{X: 300, Y: 300, R: 250}
	for _, o := range []*Outline{&m.Head, &m.Cup} {
		o.Cov = [3][3]float64{{0.01}, {0, 0.01}, {0, 0, 0.01}}
	}
	m, err := m.Read(Method{})
	if err != nil {
		panic(err) // a test's own mistake
	}
	return Reading{ID: id, HipID: "H1", FilmID: "F1", Reader: reader, At: time.Date(2026, 1, 1, 0, minute, 0, 0, time.UTC), Measurement: m}
}

// placed is a reading at a place of a list.
func placed(r Reading, list string, place, occasion int, kind ListKind) Reading {
	r.Listed = Listed{List: list, Kind: kind, Place: place, Occasion: occasion, Start: StartBlank}
	return r
}

// film is every kind of reading: a correction, a repeat, two readers, one withdrawn.
func film() []Reading {
	withdrawn := readingOf("w", "R3", 0, 400, 300)
	withdrawn.Withdrawn = &Withdrawal{}
	return []Reading{withdrawn, readingOf("a1", "R1", 1, 303, 300), readingOf("b1", "R2", 2, 300, 294), readingOf("a2", "R1", 3, 302, 300),
		placed(readingOf("c1", "R1", 4, 301, 300), "L1", 1, 1, ReadList), placed(readingOf("c2", "R1", 5, 306, 300), "L1", 9, 2, ReadList)}
}

func TestRuleSaysWhatCounts(t *testing.T) {
	adjudicated := append(film(), placed(readingOf("d1", "R4", 6, 300, 297), "L2", 1, 1, AdjudicateList), readingOf("e1", "R5", 7, 300, 300))
	for _, c := range []struct {
		list []Reading
		rule Rule
		want string
	}{
		{film(), Anyone, "c2"},
		{film(), "R1", "c1"}, // the last that is no repeat
		{film(), "R2", "b1"},
		{film(), "R3", ""}, // withdrawn
		{film(), "R9", ""},
		{film(), RuleFirst, "a2"}, // the first occasion as it was corrected
		{film(), MeanOf("R1"), "a2+c1+c2"},
		{film(), MeanOf("R2"), "b1"},
		{film(), MeanOf("R3"), ""},
		{film(), RuleMean, "a2+b1+c1+c2"},
		{film(), RuleAdjudicated, "a2+b1+c1"},
		{adjudicated, RuleAdjudicated, "d1"},
		{adjudicated, RuleMean, "a2+b1+c1+c2+e1"}, // who adjudicates is no third reader
		{nil, RuleMean, ""},
	} {
		got := ""
		if g := Counting(c.list, c.rule); g != nil {
			got = g.ID
		}
		require.Equal(t, c.want, got, RuleCode(c.rule))
	}
}

// Readers weigh alike, however often each has read: R1 lies 2, 1 and 6 px, in the mean 3 px, to
// the medial side, R2 6 px superior, each px 0.1 mm.
func TestMeanOfReadings(t *testing.T) {
	r := Record{Hip: Hip{ID: "H1", Side: Right, Implant: Implant{HeadMM: 28}}, Films: []Film{{ID: "F1"}}, Readings: film()}
	m := r.Standing("F1", RuleMean)
	require.Equal(t, "R1+R2", m.Reader)
	require.Equal(t, Measured, m.Status)
	require.InDelta(t, 0.3, m.Measurement.Reading.Offset.Superior, 1e-12, "half of 0.6 mm")
	require.InDelta(t, 0.15, m.Measurement.Reading.Offset.Medial, 1e-12, "half of 0.3 mm")
	require.InDelta(t, 301.5, m.Head.X, 1e-12)
	require.InDelta(t, 297, m.Head.Y, 1e-12)
	one := r.Standing("F1", "R2")
	require.InDelta(t, one.Measurement.Reading.Offset.Cov[0][0], m.Measurement.Reading.Offset.Cov[0][0], 1e-4, "readings of one film are no independent ones")
	e := r.Entries(RuleMean)[0]
	require.Equal(t, FilmRead, e.State)
	require.True(t, e.Counts("c2") && !e.Counts("w") && !e.Counts("a1"))

	// For another head every part is read again.
	r.Hip.Implant.HeadMM = 32
	again := r.Standing("F1", RuleMean)
	require.InDelta(t, 0.3*32/28, again.Measurement.Reading.Offset.Superior, 1e-12)

	r.Readings[2].CupKind = Wire
	m = r.Standing("F1", RuleMean)
	require.Equal(t, Refused, m.Status)
	require.Equal(t, "mean.kinds", m.Reason.Code)
	require.Equal(t, FilmRefused, r.Entries(RuleMean)[0].State)
}

// What a reader leaves out alone does not count of that reader, and of others it does.
func TestExclusionOfOneReader(t *testing.T) {
	r := Record{Hip: Hip{ID: "H1", Side: Right}, Films: []Film{{ID: "F1"}}, Readings: film(),
		Exclusions: []Exclusion{{FilmID: "F1", Code: "exposure", Reader: "R1", Scope: ForReader}}}
	require.Equal(t, "b1", r.Standing("F1", RuleMean).ID)
	require.Nil(t, r.Standing("F1", "R1"))
	require.Equal(t, FilmRead, r.Entries(Anyone)[0].State)
	r.Exclusions = append(r.Exclusions, Exclusion{FilmID: "F1", Reader: "R1", Scope: ForReader})
	require.Equal(t, "c1", r.Standing("F1", "R1").ID, "taken back in")
	r.Exclusions = append(r.Exclusions, Exclusion{FilmID: "F1", Code: "exposure", Reader: "R1", Scope: ForReader, List: "L1", Place: 3})
	require.Equal(t, "c1", r.Standing("F1", "R1").ID, "a place of a list is one occasion")
}

func TestRuleCodes(t *testing.T) {
	for _, code := range []string{"latest", "R1", "first", "mean", "mean:R1", "adjudicated"} {
		rule, err := ParseRule(code)
		require.NoError(t, err)
		require.Equal(t, code, RuleCode(rule))
		require.NotEmpty(t, RuleWords(rule))
	}
	for _, code := range []string{"", "mean:", "mean:a b", "rule:first", "a b"} {
		_, err := ParseRule(code)
		require.Error(t, err, code)
	}
}

func TestReadersWhoDiffer(t *testing.T) {
	record := func(readings ...Reading) []Record {
		return []Record{{Hip: Hip{ID: "H1", Side: Right, Implant: Implant{HeadMM: 28}}, Films: []Film{{ID: "F1"}}, Readings: readings}}
	}
	of := func(limit float64, records []Record, between ...string) string {
		text := ""
		for _, d := range Differs(records, limit, between) {
			text += fmt.Sprintf("%s %s-%s %.2f", d.FilmID, d.Readers[0], d.Readers[1], d.MM)
		}
		return text
	}
	a, b := readingOf("a", "R1", 1, 303, 300), readingOf("b", "R2", 2, 300, 296) // 0.3 and 0.4 mm: 0.5 apart
	require.Equal(t, "F1 R1-R2 0.50", of(0.49, record(a, b)))
	require.Empty(t, of(0.51, record(a, b)))
	require.Empty(t, of(0.1, record(a)))
	far := readingOf("c", "R3", 3, 300, 310)
	require.Equal(t, "F1 R2-R3 1.40", of(0.1, record(a, b, far)))
	require.Equal(t, "F1 R1-R2 0.50", of(0.1, record(a, b, far), "R1", "R2"))
	require.Empty(t, of(0.1, record(a, placed(readingOf("r", "R1", 4, 330, 300), "L1", 2, 2, ReadList))), "one reader's occasions are no two readers")
	require.Empty(t, of(0.1, record(a, b, placed(far, "L2", 1, 1, AdjudicateList))), "adjudicated already")
	b.Withdrawn = &Withdrawal{}
	require.Empty(t, of(0.1, record(a, b)))
	b.Withdrawn = nil
	b.Status, b.Measurement.Reading = Refused, Result{}
	require.Empty(t, of(0.1, record(a, b)))

	b = readingOf("b", "R2", 2, 300, 296)
	list, err := MakeAdjudication(record(a, b), AdjudicationPlan{Limit: 0.2, Reader: "R3", Start: StartBlank})
	require.NoError(t, err)
	require.Equal(t, []Place{{HipID: "H1", FilmID: "F1", Occasion: 1}}, list.Places)
	require.Equal(t, AdjudicateList, list.Kind)
	for _, p := range []AdjudicationPlan{{Limit: 0.2, Reader: "R1", Start: StartBlank}, {Limit: 0.2, Reader: "R3", Between: []string{"R3"}}, {Reader: "R3"}, {Limit: 9, Reader: "R3"}} {
		_, err := MakeAdjudication(record(a, b), p)
		require.Error(t, err)
	}
}
