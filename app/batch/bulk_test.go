package batch_test

import (
	"context"
	"errors"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// circle is an outline as a search finds one.
func circle(x, y, r float64) measure.Outline {
	o := measure.Outline{CircleFit: measure.CircleFit{Circle: measure.Circle{X: x, Y: y, R: r}, Arc: 360}}
	o.Points = []measure.Point{{X: x + r, Y: y}}
	for i := range o.Cov {
		o.Cov[i][i] = 0.01
	}
	return o
}

// invented measures a film by its ID alone.
func invented(_ context.Context, h study.Hip, f study.Film) study.Measurement {
	var n float64
	if _, err := fmt.Sscanf(f.ID, "F%g", &n); err != nil {
		panic(err)
	}
	return study.Measurement{Film: f, Status: study.Measured, Side: h.Side, HeadMM: h.Implant.HeadMM,
		Head: circle(300, 300+n/8, 140), Cup: circle(302, 310, 250), CupKind: measure.Shell}
}

// filled puts hips and films into a study; no file is behind a film.
func filled(t *testing.T, st study.Store, hips, films int) (list []study.Hip) {
	t.Helper()
	ctx, by := t.Context(), study.Stamp{Reader: "C1"}
	for i := range hips {
		h, err := st.SaveHip(ctx, study.Hip{Patient: fmt.Sprintf("P%03d", i+1), Side: measure.Right, StartYears: 1,
			Surgery: day(2001, 1), Implant: study.Implant{HeadMM: 28}}, by)
		require.NoError(t, err)
		var all []study.Film
		for k := range films {
			sha := fmt.Sprintf("%d-%d", i, k)
			all = append(all, study.Film{Path: "/films/" + sha, Facts: study.Facts{SHA256: sha, PixelKey: sha, Date: day(2002+k, 1)}})
		}
		saved, err := st.AddFilms(ctx, all, by)
		require.NoError(t, err)
		for _, f := range saved {
			require.NoError(t, st.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
		}
		list = append(list, h)
	}
	return list
}

func day(year, month int) time.Time {
	return time.Date(year, time.Month(month), 1, 0, 0, 0, 0, time.UTC)
}

func bulk(version string) batch.Bulk {
	return batch.Bulk{By: study.Stamp{Version: version}, Now: time.Now, Measure: invented}
}

func record(t *testing.T, st study.Store, hip study.Hip) study.Record {
	t.Helper()
	r, err := st.Record(t.Context(), hip.ID)
	require.NoError(t, err)
	return r
}

// A proposal tells what it is of, has no reader, and is made once.
func TestBulkProposes(t *testing.T) {
	ctx, st := t.Context(), new(storetest.Memory)
	hips := filled(t, st, 2, 3)
	b := bulk("0.9+abc")
	told := 0
	b.Tell = func(s batch.Searched) { told++; require.Equal(t, []int{told, 6}, []int{s.Done, s.Total}) }
	got, err := b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Measured: 6}, got)
	r := record(t, st, hips[1])
	require.Empty(t, r.Readings)
	require.Len(t, r.Unaccepted, 3)
	p, ok := r.Unaccepted[0].Proposal()
	require.True(t, ok)
	require.Equal(t, study.Provenance{Program: "linerwatch", Version: "0.9", Commit: "abc", HeadMM: 28, Side: measure.Right}, p.From)
	require.Empty(t, p.Head.Fit.Points)
	m, ok := r.Unaccepted[0].Measured(r.Hip, r.Films[0])
	require.True(t, ok)
	require.InDelta(t, 28.0/280, m.Reading.Scale, 1e-12)

	b.Tell = nil
	got, err = b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{There: 6}, got, "once is enough")

	h := hips[0]
	h.Implant.HeadMM = 32
	_, err = st.SaveHip(ctx, h, study.Stamp{})
	require.NoError(t, err)
	require.NoError(t, st.AddExclusion(ctx, study.Exclusion{HipID: h.ID, FilmID: record(t, st, h).Films[0].ID, Code: "other"}))
	got, err = b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Measured: 2, There: 4}, got, "a corrected head is asked for anew, but not on a film that is left out")
}

// A film that fails is told with its reason, and not tried again unless that is asked.
func TestBulkTellsFailures(t *testing.T) {
	ctx, st := t.Context(), new(storetest.Memory)
	hips := filled(t, st, 1, 3)
	films := record(t, st, hips[0]).Films
	b := bulk("0.9")
	b.Measure = func(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
		m := invented(ctx, h, f)
		switch f.ID {
		case films[0].ID:
			return study.Measurement{Film: f, Status: study.Refused, Reason: study.Note{Text: "nothing round"}}
		case films[1].ID:
			return study.Measurement{Film: f, Status: study.Failed, Reason: study.Note{Text: "half a file"}}
		}
		return m
	}
	got, err := b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Measured: 1, Refused: 1, Failed: 1}, got)
	links := record(t, st, hips[0]).Links
	require.Equal(t, []study.Status{study.Refused, study.Failed, study.Measured}, []study.Status{links[0].Searched, links[1].Searched, links[2].Searched})
	require.Equal(t, "half a file", links[1].Reason.Text)
	got, err = b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{There: 3}, got)
	b.Measure, b.Again = invented, true
	got, err = b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Measured: 2, There: 1}, got)
	require.Len(t, record(t, st, hips[0]).Unaccepted, 3)

	// A file that is gone may come back: nothing is kept of it.
	st = new(storetest.Memory)
	hips = filled(t, st, 1, 1)
	b = bulk("0.9")
	b.Measure = nil
	got, err = b.Run(ctx, st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Missing: 1}, got)
	require.Empty(t, record(t, st, hips[0]).Links[0].Searched)
}

// What is stopped keeps what was done, and nothing of what was not.
func TestBulkStops(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	st := new(storetest.Memory)
	hips := filled(t, st, 4, 5)
	var begun atomic.Int32
	b := bulk("0.9")
	b.Measure = func(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
		if begun.Add(1) == 7 {
			cancel()
		}
		if ctx.Err() != nil { // as a search that is stopped says
			return study.Measurement{Status: study.Failed, Reason: study.NoteOf(ctx.Err())}
		}
		return invented(ctx, h, f)
	}
	got, err := b.Run(ctx, st)
	require.ErrorIs(t, err, context.Canceled)
	require.Equal(t, 20, got.Measured+got.Left)
	require.Positive(t, got.Left)
	kept := 0
	for _, h := range hips {
		r := record(t, st, h)
		kept += len(r.Unaccepted)
		for _, l := range r.Links {
			require.Contains(t, []study.Status{"", study.Measured}, l.Searched)
		}
	}
	require.Equal(t, got.Measured, kept)
	rest, err := bulk("0.9").Run(t.Context(), st)
	require.NoError(t, err)
	require.Equal(t, batch.Swept{Measured: got.Left, There: got.Measured}, rest)
}

// Where nothing can be kept the work ends with why.
func TestBulkEndsWithTheStudy(t *testing.T) {
	st := new(storetest.Memory)
	filled(t, st, 4, 5)
	full := errors.New("no space left")
	got, err := bulk("0.9").Run(t.Context(), failing{st, full})
	require.ErrorIs(t, err, full)
	require.Equal(t, batch.Swept{Left: 20}, got)
}

type failing struct {
	study.Store
	err error
}

func (f failing) SaveDraft(context.Context, study.Draft) error { return f.err }

// What is the same gives nothing; what is not is told by how much.
func TestReplay(t *testing.T) {
	ctx, st := t.Context(), new(storetest.Memory)
	hips := filled(t, st, 1, 2)
	b := bulk("0.9+abc")
	_, err := b.Run(ctx, st)
	require.NoError(t, err)
	films := 2
	replay := func() (list []batch.Replayed) {
		require.NoError(t, b.Replay(ctx, st, func(r batch.Replayed, done, total int) error {
			list = append(list, r)
			require.Equal(t, []int{len(list), films}, []int{done, total})
			return nil
		}))
		return list
	}
	for _, r := range replay() {
		require.Empty(t, r.Differ)
		require.True(t, r.Reason.IsZero())
		require.Equal(t, "abc", r.From.Commit)
	}
	moved := func(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
		m := invented(ctx, h, f)
		m.Head.X += 0.25
		return m
	}
	b.Measure = moved
	for _, r := range replay() {
		by := map[string]float64{}
		for _, d := range r.Differ {
			by[d.Name] = d.Now - d.Was
		}
		require.InDelta(t, 0.25, by["head x"], 1e-12)
		require.InDelta(t, 0.25*28/280, by["offset medial"], 1e-12, "a right hip: medial is to the right")
		require.NotContains(t, by, "offset superior")
	}
	b.Measure = invented
	films = 3
	lists, err := batch.Assign(ctx, st, study.ListPlan{Readers: []string{"R1"}, Start: study.StartProposal}, study.Stamp{Reader: "C1"})
	require.NoError(t, err)
	p := lists[0].Places[0]
	r, err := st.Record(ctx, p.HipID)
	require.NoError(t, err)
	m, ok := r.OutlinesOf(p.FilmID)[0].Measured(r.Hip, study.Film{ID: p.FilmID})
	require.True(t, ok)
	g := study.Reading{ID: "g", HipID: p.HipID, FilmID: p.FilmID, Reader: "R1", Version: "0.8+old", Measurement: m,
		Listed: study.Listed{List: lists[0].ID, Kind: study.ReadList, Place: 1, Occasion: 1, Start: study.StartProposal, Untouched: true}}
	require.NoError(t, st.AddReading(ctx, g))
	var taken []batch.Replayed
	for _, r := range replay() {
		require.Empty(t, r.Differ)
		require.True(t, r.Reason.IsZero())
		if r.Reader != "" {
			taken = append(taken, r)
		}
	}
	require.Len(t, taken, 1)
	require.Equal(t, []string{"R1", "0.8", "old"}, []string{taken[0].Reader, taken[0].From.Version, taken[0].From.Commit})
	b.Measure = moved
	for _, r := range replay() {
		require.NotEmpty(t, r.Differ)
	}

	hips[0].Implant.HeadMM = 36
	_, err = st.SaveHip(ctx, hips[0], study.Stamp{})
	require.NoError(t, err)
	for _, r := range replay() {
		require.Equal(t, "replay.outdated", r.Reason.Code)
	}
}
