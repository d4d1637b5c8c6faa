package storetest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// seen saves a hip whose films are read by a method, and returns what was saved as it was
// made.
func seen(t *testing.T, st study.Store, how study.Method) study.Record {
	ctx := t.Context()
	hip := Hip()
	hip.BeamOff, hip.Baseline, hip.StartYears = false, "", 1
	h, err := st.SaveHip(ctx, hip, by)
	require.NoError(t, err)
	want := study.Record{Hip: h}
	for i, date := range []string{"2004-06-14", "2006-01-01", "2009-01-01", "2012-01-01"} {
		film := Film(date, date)
		film.Given.Center = &study.Pixel{X: 1200, Y: 1300}
		f := addFilm(t, st, h, film)
		r := Reading(date, h, f)
		r.Head.Y -= float64(i) * 0.8
		r.Cup = half(r.Cup) // of which the correction is another than of a whole outline
		r.Measurement, err = r.Read(how)
		require.NoError(t, err)
		require.NoError(t, st.AddReading(ctx, r))
		want.Films, want.Readings = append(want.Films, f), append(want.Readings, r)
	}
	return want
}

// sameTrend asks that a store's record comes to the trend of the readings as they were
// made, for which it needs their edge points.
func sameTrend(t *testing.T, st study.Store, want study.Record) study.Trend {
	require.True(t, want.Rereads())
	got, err := st.Record(t.Context(), want.Hip.ID)
	require.NoError(t, err)
	a, err := want.Trend(study.Anyone)
	require.NoError(t, err)
	b, err := got.Trend(study.Anyone)
	require.NoError(t, err)
	require.True(t, b.Method.Beam, "read again, corrected for the cone beam")
	for i := range got.Readings {
		got.Readings[i] = got.Readings[i].Bare()
	}
	blind, err := got.Trend(study.Anyone)
	require.NoError(t, err)
	require.Greater(t, math.Abs(blind.Films[0].Reading.Offset.Superior-a.Films[0].Reading.Offset.Superior), 2e-5, "the edge points matter")
	for i := range a.Penetration {
		assert.InDelta(t, a.Penetration[i].Superior, b.Penetration[i].Superior, 1e-6, "mm: rounded edges move it by far less than its error")
	}
	assert.InDelta(t, a.Fit.Rate, b.Fit.Rate, 1e-6)
	return b
}

// A trend reads a film again where its method changes, and comes to the same with what a
// store keeps as with the readings as they were made.
func rereads(t *testing.T, st study.Store) {
	sameTrend(t, st, seen(t, st, study.Method{})) // without correction
}

// So it does where the hip has another head than the readings were accepted with: with
// the beam unchanged, all lengths grow with the head.
func anew(t *testing.T, st study.Store) {
	want := seen(t, st, study.Method{Beam: true, Line: true})
	require.False(t, want.Rereads())
	before, err := want.Trend(study.Anyone)
	require.NoError(t, err)
	h := want.Hip
	h.Implant.HeadMM = 26
	want.Hip, err = st.SaveHip(t.Context(), h, by)
	require.NoError(t, err)
	after := sameTrend(t, st, want)
	for i, m := range after.Films {
		require.Equal(t, 26.0, m.HeadMM)
		require.InEpsilon(t, before.Films[i].Reading.Scale*26/28, m.Reading.Scale, 1e-9)
	}
}
