package session

import (
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// read is a bench whose five films are read by R1 into a study file.
func read(t *testing.T) (b *bench, path string) {
	b = opened(t)
	require.NoError(t, b.SetReader("R1"))
	path = filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, b.book.create(path))
	for i := range dates {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	return b, path
}

func TestSecondReaderStandsBesideTheFirst(t *testing.T) {
	b, path := read(t)
	first, err := b.Trend()
	require.NoError(t, err)
	require.NoError(t, b.SetReader("R2"))
	require.NoError(t, b.book.SetCounts("R2"))
	require.Equal(t, "count readings of R2", b.history.UndoName())
	b.drain()
	require.Equal(t, Proposed, b.strip.Films()[4].State(), "R2 has not read it: the program's proposal is shown")
	b.strip.Select(4)
	b.Edits().Nudge(0, -3) // 0.3 mm further up
	require.NoError(t, b.Accept())

	f := b.strip.Films()[4]
	require.Len(t, f.Readings, 2)
	require.Empty(t, f.Readings[1].Supersedes, "it replaces nobody's")
	require.Equal(t, "R2", f.Accepted.Reader)
	require.Equal(t, "test", f.Accepted.Version)
	require.False(t, f.Accepted.At.Equal(f.Readings[0].At))
	b.Edits().Nudge(0, 1)
	require.NoError(t, b.Accept())
	require.Equal(t, f.Readings[1].ID, f.Readings[2].Supersedes, "R2's own is superseded")
	require.Equal(t, []string{"R1", "R2"}, b.book.Readers())

	require.NoError(t, b.book.SetCounts("R1"))
	again, err := b.Trend()
	require.NoError(t, err)
	require.Equal(t, first.Fit.Rate, again.Fit.Rate, "R1's readings are as they were")
	b.history.Undo()
	require.Equal(t, "R2", b.book.Counts())
	b.history.Redo()
	require.Equal(t, "R1", b.book.Counts())

	other := newBench(t)
	require.NoError(t, other.book.open(path))
	require.Equal(t, "R1", other.book.Counts(), "the study remembers it")
	require.Len(t, other.strip.Films()[4].Readings, 3)
	require.Equal(t, "R1", other.strip.Films()[4].Accepted.Reader)
}

// Which readings count is no reader's to say by accepting one.
func TestAcceptingDoesNotChangeWhatCounts(t *testing.T) {
	b, _ := read(t)
	require.NoError(t, b.book.SetCounts("R1"))
	require.NoError(t, b.SetReader("R2"))
	b.Edits().Nudge(1, 0)
	require.NoError(t, b.Accept())
	f := b.strip.Selected()
	require.Len(t, f.Readings, 2)
	require.Equal(t, "R1", b.book.Counts())
	require.Equal(t, "R1", f.Accepted.Reader)
	require.Equal(t, Accepted, f.State())
	require.Contains(t, b.Notice(), "what counts is readings of R1")
	require.NoError(t, b.book.SetCounts(study.RuleMean))
	require.Equal(t, "R1+R2", f.Accepted.Reader)
	one, two := b.AsNow(f.Readings[0]), b.AsNow(f.Readings[1])
	mean := b.AsNow(*f.Accepted)
	require.InDelta(t, (one.Reading.Offset.Superior+two.Reading.Offset.Superior)/2, mean.Reading.Offset.Superior, 1e-12)
	require.InDelta(t, (one.Reading.Offset.Medial+two.Reading.Offset.Medial)/2, mean.Reading.Offset.Medial, 1e-12)
	require.Equal(t, mean.Reading, b.Numbers(f).Reading, "the window shows what counts")
	require.NoError(t, b.book.SetCounts(study.Anyone))
	require.Equal(t, "R2", f.Accepted.Reader)
}

func TestFilmsWithReadingsStayInTheStrip(t *testing.T) {
	b, _ := read(t)
	require.NoError(t, b.book.SetCounts("R9"))
	b.drain()
	b.strip.Remove(0)
	require.Len(t, b.strip.Films(), 5)
}

// look reads the overview and waits for it.
func (b *bench) look() []study.Summary {
	b.t.Helper()
	o := b.Overview()
	for o.busy {
		b.one()
	}
	require.NoError(b.t, o.Err())
	return o.Rows()
}

func TestOverviewFollowsTheWork(t *testing.T) {
	b, _ := read(t)
	require.True(t, b.Overview().Loading())
	rows := b.look()
	require.Len(t, rows, 1)
	require.Equal(t, study.HipDone, rows[0].State)
	require.Equal(t, 5, rows[0].Read)
	require.InDelta(t, 0.1, rows[0].Fit.Rate, 1e-6)
	b.strip.Select(4)
	require.NoError(t, b.given.Exclude("exposure", ""))
	require.Equal(t, 1, b.look()[0].LeftOut)
	b.history.Undo()
	require.Equal(t, 0, b.look()[0].LeftOut)
	h, _ := b.Hip()
	h.Group = "arm B"
	require.NoError(t, b.SetHip(h))
	require.Equal(t, "arm B", b.look()[0].Hip.Group)
	require.NoError(t, b.book.SetCounts("R2"))
	require.Equal(t, study.HipToRead, b.look()[0].State)
}

// hips is an overview of four invented hips.
func hips() *Overview {
	day := func(y int) time.Time { return time.Date(y, 1, 1, 0, 0, 0, 0, time.UTC) }
	fit := func(rate float64) *study.TrendFit { return &study.TrendFit{Rate: rate} }
	o := &Overview{s: &Session{}, known: true, all: map[string]*hipRow{}}
	for _, s := range []study.Summary{
		{Hip: study.Hip{ID: "A1-right", Patient: "A1", Side: study.Right, Group: "B"}, State: study.HipDone, Span: study.Span{Last: day(2010)}, Fit: fit(0.05)},
		{Hip: study.Hip{ID: "A2-left", Patient: "A2", Side: study.Left, Group: "A"}, State: study.HipToRead, Span: study.Span{Last: day(2015)}, Unread: 3, Missing: []study.Note{{Text: "shell"}}},
		{Hip: study.Hip{ID: "A3-left", Patient: "A3", Side: study.Left}, State: study.HipDone, Span: study.Span{Last: day(2012)}, Fit: fit(0.2), Readers: []string{"R7"}},
		{Hip: study.Hip{ID: "A4-right", Patient: "A4", Side: study.Right, Group: "A", Implant: study.Implant{HeadMaterial: "ZTA"}},
			State: study.HipInProgress, Unread: 1, Missing: []study.Note{{Text: "shell"}, {Text: "polyethylene"}}},
	} {
		o.all[s.Hip.ID] = newHipRow(s)
	}
	return o
}

func codes(rows []study.Summary) (out []string) {
	for _, r := range rows {
		out = append(out, r.Hip.Patient)
	}
	return out
}

func TestOverviewFiltersAndSorts(t *testing.T) {
	for _, c := range []struct {
		name string
		set  func(*Overview)
		want []string
	}{
		{"what waits first", func(*Overview) {}, []string{"A4", "A2", "A1", "A3"}},
		{"by code", func(o *Overview) { o.SortBy(ByCode) }, []string{"A1", "A2", "A3", "A4"}},
		{"back", func(o *Overview) { o.SortBy(ByCode); o.SortBy(ByCode) }, []string{"A4", "A3", "A2", "A1"}},
		{"rate, none last", func(o *Overview) { o.SortBy(ByRate) }, []string{"A3", "A1", "A2", "A4"}},
		{"waiting", func(o *Overview) { o.SortBy(ByWaiting) }, []string{"A2", "A4", "A1", "A3"}},
		{"missing", func(o *Overview) { o.SortBy(ByMissing) }, []string{"A4", "A2", "A1", "A3"}},
		{"last film", func(o *Overview) { o.SortBy(ByLastFilm); o.SortBy(ByLastFilm) }, []string{"A2", "A3", "A1", "A4"}},
		{"group", func(o *Overview) { o.Group = "A" }, []string{"A4", "A2"}},
		{"state", func(o *Overview) { o.State = study.HipDone }, []string{"A1", "A3"}},
		{"side", func(o *Overview) { o.Text = "LEFT" }, []string{"A2", "A3"}},
		{"material in words", func(o *Overview) { o.Text = "zirconia right" }, []string{"A4"}},
		{"reader", func(o *Overview) { o.Text = "r7" }, []string{"A3"}},
		{"missing word", func(o *Overview) { o.Text = "shell" }, []string{"A4", "A2"}},
		{"state before", func(o *Overview) { o.State = study.HipDone; o.StepState(-1) }, []string{"A2"}},
		{"states left by the words", func(o *Overview) { o.Text = "left"; o.StepState(1); o.StepState(1) }, []string{"A3"}},
		{"no state after the last", func(o *Overview) { o.State = study.HipDone; o.StepState(1) }, []string{"A1", "A3"}},
		{"filters taken off", func(o *Overview) { o.Text, o.Group, o.State = "left", "A", study.HipToRead; o.ShowAll() }, []string{"A4", "A2", "A1", "A3"}},
		{"nothing", func(o *Overview) { o.Text = "no such" }, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := hips()
			c.set(o)
			require.Equal(t, c.want, codes(o.Rows()))
		})
	}
	require.Equal(t, []string{"A", "B"}, hips().Groups())
}

func TestOverviewCursorStaysOnItsHip(t *testing.T) {
	o := hips()
	require.Equal(t, 0, o.Cursor(o.Rows()))
	o.Move(2)
	require.Equal(t, 2, o.Cursor(o.Rows()))
	o.SortBy(ByCode)
	require.Equal(t, 0, o.Cursor(o.Rows()), "the same hip, in another place")
	o.Move(9)
	require.Equal(t, 3, o.Cursor(o.Rows()))
	o.Text = "no such"
	require.Equal(t, -1, o.Cursor(o.Rows()))
	o.Move(1)
	o.Text = ""
	require.Equal(t, 3, o.Cursor(o.Rows()), "as before the filter")
	o.Move(-9)
	require.Equal(t, 0, o.Cursor(o.Rows()))
}

func TestOverviewCursorStaysWhereRowsAreReadAgain(t *testing.T) {
	done := func(o *Overview, id string) map[string]*hipRow {
		r := o.all[id].Summary
		r.State, r.Unread = study.HipDone, 0
		return map[string]*hipRow{id: newHipRow(r)}
	}
	at := func(o *Overview) string { return o.Rows()[o.Cursor(o.Rows())].Hip.ID }

	o := hips()
	o.Move(1)
	require.Equal(t, "A2-left", at(o))
	o.take(done(o, "A2-left"), false)
	require.Equal(t, "A2-left", at(o), "the same hip, further down")
	require.Equal(t, map[study.HipState]int{study.HipInProgress: 1, study.HipDone: 3}, o.States())

	o = hips()
	o.Text = "shell"
	o.Point("A4-right")
	o.State = study.HipInProgress
	o.take(done(o, "A4-right"), false)
	require.Empty(t, o.Rows())
	o.State = ""
	require.Equal(t, "A4-right", at(o))

	o = hips()
	o.Text = "missing" // nothing
	require.Equal(t, -1, o.Cursor(o.Rows()))
	o.Text, o.State = "", study.HipDone
	o.Point("A1-right")
	r := o.all["A1-right"].Summary
	r.State = study.HipAttention
	o.take(map[string]*hipRow{"A1-right": newHipRow(r)}, false)
	require.Equal(t, "A3-left", at(o), "the hip that has come to its place")
}
