package session

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestChangedHeadComputesAcceptedReadingsAnew(t *testing.T) {
	b, _ := inStudy(t)
	h, _ := b.Hip()
	other := h
	other.Implant.HeadMM = 32
	require.Empty(t, b.Rests(other), "nothing is accepted")
	for i := range 5 {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	require.Equal(t, "5 accepted readings rest on the head diameter and will be computed anew.", b.Rests(other))
	require.Empty(t, b.Rests(h))
	before, err := b.Trend()
	require.NoError(t, err)
	require.NoError(t, b.SetHip(other))
	require.Contains(t, b.Notice(), "computed anew")

	live, err := b.Trend()
	require.NoError(t, err)
	accepted, err := b.course.Accepted()
	require.NoError(t, err)
	kept, err := b.book.store.Record(t.Context(), h.ID)
	require.NoError(t, err)
	s := kept.Summary(study.Anyone)
	require.InEpsilon(t, before.Fit.Rate*32/28, s.Fit.Rate, 1e-9)
	require.Equal(t, []float64{s.Fit.Rate, s.Fit.Rate}, []float64{live.Fit.Rate, accepted.Fit.Rate}, "one number in all places")
	require.Equal(t, 28.0, kept.Readings[0].HeadMM, "it is kept as it was accepted")
	require.Equal(t, 32.0, b.Numbers(b.strip.Films()[0]).HeadMM)

	b.history.Undo()
	again, err := b.Trend()
	require.NoError(t, err)
	require.Equal(t, before.Fit.Rate, again.Fit.Rate)
	lines, err := b.book.Changes()
	require.NoError(t, err)
	require.Len(t, lines, 3)
	require.True(t, strings.HasSuffix(lines[0], ": head diameter 28 mm, was 32 mm"), lines[0])
	require.True(t, strings.HasSuffix(lines[1], ": head diameter 32 mm, was 28 mm"), lines[1])
	require.True(t, strings.HasSuffix(lines[2], ": entered"), lines[2])
}

func TestWithdrawnReadingsRestOnNothing(t *testing.T) {
	b, _ := inStudy(t)
	require.NoError(t, b.Accept())
	other, _ := b.Hip()
	other.Surgery = other.Surgery.AddDate(0, 0, 1)
	require.Equal(t, "One accepted reading rests on the date of surgery and will be computed anew.", b.Rests(other))
	b.history.Undo()
	require.Empty(t, b.Rests(other))
}
