package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// What is not accepted is shown to those who read, and to nobody else.
func TestAcceptedTrendHoldsAcceptedReadingsOnly(t *testing.T) {
	b, _ := inStudy(t)
	_, err := b.course.Accepted()
	require.Equal(t, "no reading has been accepted", study.Told(err))
	for _, i := range []int{0, 2, 4} {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	b.Edits().Nudge(0, -5) // of the last film, after it was accepted
	live, err := b.Trend()
	require.NoError(t, err)
	require.Len(t, live.Penetration, 5)
	tr, err := b.course.Accepted()
	require.NoError(t, err)
	require.Len(t, tr.Penetration, 3)
	require.InDelta(t, 0.983, tr.Penetration[2].Superior, 0.001, "0.1 mm a year, without the change")

	s := b.Record().Summary(study.Anyone)
	require.Equal(t, tr.Fit.Rate, s.Fit.Rate, "as in the table of hips")
	require.Equal(t, tr.Fit.Lo95, s.Fit.Lo95)

	require.NoError(t, b.book.SetCounts("R9"))
	_, err = b.course.Accepted()
	require.Equal(t, "no reading has been accepted by R9, whose readings count", study.Told(err))
}

func TestAcceptedTrendFollowsWithdrawalAndExclusion(t *testing.T) {
	b, _ := inStudy(t)
	for i := range 3 {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	films := func() int {
		tr, err := b.course.Accepted()
		require.NoError(t, err)
		return len(tr.Penetration)
	}
	require.Equal(t, 3, films())
	b.history.Undo()
	require.Equal(t, 2, films())
	b.strip.Select(1)
	require.NoError(t, b.given.Exclude("projection", ""))
	require.Equal(t, 1, films())
}

// A film from before surgery that nobody has accepted takes nothing from what is: it is
// told and not in the trend. Once accepted it is refused alike wherever a trend is.
func TestProposalThatFitsNoTrend(t *testing.T) {
	b, _ := inStudy(t)
	for i := range dates {
		b.strip.Select(i)
		require.NoError(t, b.Accept())
	}
	before, err := b.Trend()
	require.NoError(t, err)
	b.strip.Add([]string{touch(t, t.TempDir(), "1999-05-01.dcm")})
	b.drain()
	require.Len(t, b.strip.Films(), 6)
	early := b.strip.Films()[0]
	require.Equal(t, Proposed, early.State())
	now, err := b.Trend()
	require.NoError(t, err)
	require.Equal(t, before.Fit, now.Fit)
	require.Equal(t, before.Penetration, now.Penetration)
	require.Equal(t, "film 1, which nobody has accepted, is not in the trend: the film of 1999-05-01 is from before surgery on 2004-01-01", study.NoteWords(now.Warnings[0]))
	_, ok := b.Penetration(early)
	require.False(t, ok)
	accepted, err := b.course.Accepted()
	require.NoError(t, err)
	require.Equal(t, before.Fit.Rate, accepted.Fit.Rate)

	b.strip.Select(0)
	b.intake.Vouch(early)
	require.NoError(t, b.Accept())
	_, err = b.Trend()
	require.ErrorContains(t, err, "film.early")
	_, same := b.course.Accepted()
	require.Equal(t, study.Told(err), study.Told(same))
	require.Equal(t, study.Told(err), study.NoteWords(b.Record().Summary(study.Anyone).Why))
	require.NotContains(t, study.NoteWords(study.PatientNote(same)), ".dcm")
	require.Contains(t, study.NoteWords(study.PatientNote(same)), "before surgery")
}
