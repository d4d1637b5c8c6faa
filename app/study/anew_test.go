package study

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

// outlined is a film whose head of 28 mm lies 2 mm above and 1 mm to the right of the
// cup's centre on a pixel of 0.2 mm, read for a right hip. Its source is known.
func outlined(t *testing.T) Measurement {
	t.Helper()
	m := on("a.dcm", "2006-05-03", 0, 0, 0.03)
	m.Film.Facts.Width, m.Film.Facts.Height, m.Film.Facts.SpacingMM, m.Film.Facts.SourceMM = 1800, 1500, 0.23, 1150
	m.Film.Facts.Side = SideUnknown
	m.Side, m.HeadMM = Right, 28
	m.Head.Circle, m.Cup.Circle = measure.Circle{X: 605, Y: 490, R: 70}, measure.Circle{X: 600, Y: 500, R: 125}
	for i := range m.Head.Cov {
		m.Head.Cov[i][i], m.Cup.Cov[i][i] = 0.01, 0.01
	}
	m, err := m.Read(Method{})
	require.NoError(t, err)
	require.InDelta(t, 2, m.Reading.Offset.Superior, 1e-9)
	require.InDelta(t, 1, m.Reading.Offset.Medial, 1e-9)
	return m
}

func hipWith(side Side, headMM float64) Hip {
	h := rightHip()
	h.Side, h.Implant.HeadMM = side, headMM
	return h
}

func TestForReadsAgainWithAnotherHeadOrSide(t *testing.T) {
	m := outlined(t)
	require.Equal(t, m, m.For(hipWith(Right, 28)), "nothing has changed")
	require.Equal(t, m, m.For(Hip{}), "nothing is known")

	large := m.For(hipWith(Right, 32))
	require.Equal(t, 32.0, large.HeadMM)
	require.InDelta(t, 2*32.0/28, large.Reading.Offset.Superior, 1e-9, "all lengths grow with the head")
	require.InDelta(t, 1*32.0/28, large.Reading.Offset.Medial, 1e-9)
	require.Equal(t, m.Head, large.Head, "the outlines stay")

	left := m.For(hipWith(Left, 28))
	require.Equal(t, Left, left.Side)
	require.InDelta(t, 2, left.Reading.Offset.Superior, 1e-9)
	require.InDelta(t, -1, left.Reading.Offset.Medial, 1e-9, "what was medial is lateral")
	require.Equal(t, 28.0, m.HeadMM, "the reading itself stays")
}

func TestForChecksMagnificationAndSideAnew(t *testing.T) {
	m := outlined(t)
	m.Film.Facts.Side = Right
	m.Warnings = []Warning{{Code: WarnMagnified, Text: "of another head"}, {Code: WarnSide, Text: "of another side"}, {Code: WarnByHand, Text: "by hand"}}
	codes := func(m Measurement) (out []string) {
		for _, w := range m.Warnings {
			out = append(out, w.Code)
		}
		return out
	}
	require.Equal(t, []string{WarnByHand}, codes(m.For(hipWith(Right, 27))), "0.23 mm at the detector are 1.19 times 0.193")
	require.Equal(t, []string{WarnByHand, WarnMagnified}, codes(m.For(hipWith(Right, 36))), "magnified 0.89 times")
	require.Equal(t, []string{WarnByHand, WarnSide}, codes(m.For(hipWith(Left, 28))))
}

func TestForReadsAgainInAnotherBeam(t *testing.T) {
	m, err := outlined(t).Read(Method{Beam: true})
	require.NoError(t, err)
	require.True(t, m.How.Beam)
	h := hipWith(Right, 28)
	require.Equal(t, m, m.For(h))
	m.Film.Given.SourceMM = 900
	near := m.For(h)
	require.Equal(t, 900.0, near.Beam.SourceMM)
	want, err := m.Read(Method{Beam: true})
	require.NoError(t, err)
	require.Equal(t, want.Reading, near.Reading)
	require.NotEqual(t, m.Reading.Offset, near.Reading.Offset)
}

func TestForSaysWhatCannotBeComputed(t *testing.T) {
	m := on("a.dcm", "2006-05-03", 0.5, 0, 0.03) // a number without outlines
	m.HeadMM = 36
	got := m.For(hipWith(Right, 28))
	require.Equal(t, Refused, got.Status)
	require.Equal(t, "it was read with a head of 36 mm, and cannot be computed for the hip as it is now: the measurement has no outlines", NoteWords(got.Reason))
	require.Zero(t, got.Reading)

	r := record()
	r.Readings[4].HeadMM = 36
	r.Hip.Implant.HeadMM = 28
	s := r.Summary("R1")
	require.Equal(t, []int{4, 1}, []int{s.Read, s.NoResult})
	tr, err := r.Trend("R1")
	require.NoError(t, err)
	require.Contains(t, NoteWords(tr.Warnings[0]), "it was read with a head of 36 mm")
}

func TestRecordComputesForTheHipAsItIs(t *testing.T) {
	r := Record{Hip: hipWith(Right, 28)}
	for i, d := range []string{"2004-06-14", "2006-05-03", "2009-05-03", "2014-05-03"} {
		m := outlined(t)
		m.Film.ID, m.Film.Path, m.Film.Facts.Date = d, d, day(d)
		m.Head.Y -= float64(i)
		m, err := m.Read(Method{})
		require.NoError(t, err)
		r.Films = append(r.Films, m.Film)
		r.Readings = append(r.Readings, Reading{ID: d, FilmID: d, Reader: "R1", Measurement: m})
	}
	before := r.Summary(Anyone).Fit
	r.Hip.Implant.HeadMM = 30
	after := r.Summary(Anyone).Fit
	require.InEpsilon(t, before.Rate*30/28, after.Rate, 1e-3, "but for the correction for the cone beam")
	tr, err := r.Trend(Anyone)
	require.NoError(t, err)
	require.Equal(t, after.Rate, tr.Fit.Rate)
	require.Equal(t, 28.0, r.Readings[0].HeadMM, "the record keeps what was accepted")

	r.Hip.Surgery = day("2003-05-03")
	require.InDelta(t, 11.0, mustTrend(t, r).Penetration[3].Years, 0.01)
	r.Hip.Side = Left
	require.Equal(t, Left, mustTrend(t, r).Films[0].Side)
}

func mustTrend(t *testing.T, r Record) Trend {
	t.Helper()
	tr, err := r.Trend(Anyone)
	require.NoError(t, err)
	return tr
}

func TestHipSinceNamesWhatDiffers(t *testing.T) {
	a, b := hipWith(Left, 36), hipWith(Right, 28)
	a.ID, b.ID = "H1", "H1"
	b.Baseline, b.Implant.PE, b.Surgery = "F3", "XLPE", day("2004-05-04")
	var got []string
	for _, d := range b.Since(a, func(id string) string { return "film " + id }) {
		got = append(got, d.String())
	}
	require.Equal(t, []string{"side right, was left", "date of surgery 2004-05-04, was 2004-05-03", "head diameter 28 mm, was 36 mm",
		"polyethylene highly cross-linked, was not known", "baseline film F3, was the earliest film"}, got)
	require.Equal(t, "head diameter, side and date of surgery", NoteWords(b.Rests(a)))
	b = a
	b.Group = "B"
	require.Empty(t, NoteWords(b.Rests(a)), "no number rests on the group")
	require.Empty(t, a.Since(a, nil))
}
