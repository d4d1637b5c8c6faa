package session

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestBaselineThatIsLeftOutIsSaid(t *testing.T) {
	b, _ := inStudy(t)
	require.Empty(t, b.course.BaselineWords())
	const said = "Movement is now counted from film 2 of 2005-01-01: film 1 of 2004-03-01 is left out."
	require.NoError(t, b.given.Exclude("exposure", ""))
	require.Contains(t, b.Notice(), said)
	require.Equal(t, "Movement is counted from film 2 of 2005-01-01: film 1 of 2004-03-01 is left out.", b.course.BaselineWords())
	b.strip.NextPending()
	require.Contains(t, b.Notice(), said, "the next film comes by itself")
	b.strip.Select(3)
	require.Empty(t, b.Notice())
	b.history.Undo()
	require.NotContains(t, b.Notice(), "counted", "it is counted from the first film again")
	require.Empty(t, b.course.BaselineWords())
	b.history.Redo()
	require.Contains(t, b.Notice(), said)
	b.Edits().Nudge(1, 0)
	require.Empty(t, b.Notice())
}

func TestBaselineWhoseAcceptanceIsWithdrawnIsSaid(t *testing.T) {
	b, _ := inStudy(t)
	b.strip.Select(1)
	require.NoError(t, b.Accept())
	require.Contains(t, b.course.BaselineWords(), "film 1 of 2004-03-01, which has no accepted reading", "a film after it is accepted")
	b.strip.Select(0)
	require.NoError(t, b.Accept())
	require.Empty(t, b.course.BaselineWords())
	b.history.Undo()
	require.Equal(t, "Undone: accept film 1. The reading is kept, marked as withdrawn. "+
		"Movement is counted from film 1 of 2004-03-01, which has no accepted reading: its outlines as proposed stand for it.", b.Notice())
	b.history.Redo()
	require.Equal(t, "Done again: accept film 1", b.Notice())
	b.Edits().Nudge(1, 0)
	require.Contains(t, b.course.BaselineWords(), "whose outlines were changed and are not accepted")
}

func TestChosenBaselineWithoutAReadingIsSaid(t *testing.T) {
	b, _ := inStudy(t)
	require.NoError(t, b.SetBaseline(b.strip.Films()[1].ID))
	b.strip.Select(1)
	require.NoError(t, b.given.SetView(study.Lateral))
	b.drain()
	_, err := b.Trend()
	require.Equal(t, "movement is counted from film 2 of 2005-01-01, which is a lateral film; "+
		"give it a reading, or choose another baseline film on the Hip page", study.Told(err))
}

// A lateral film is no film that movement could be counted from.
func TestLateralFilmBeforeTheBaselineIsNotExplained(t *testing.T) {
	b, _ := inStudy(t)
	require.NoError(t, b.given.SetView(study.Lateral))
	b.drain()
	require.Contains(t, b.Notice(), "Movement is now counted from film 2 of 2005-01-01: film 1 of 2004-03-01 is a lateral film.", "it was counted from it")
	require.Empty(t, b.course.BaselineWords())
}

// Films have the study's codes from the moment it keeps them, of one kind; what named one
// before follows.
func TestFilmsTakeTheCodesOfTheStudy(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetBaseline(b.strip.Films()[2].ID))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	require.NoError(t, b.drafts.Flush())
	b.drain()
	films := b.strip.Films()
	require.Len(t, films, len(dates))
	for _, f := range films {
		require.Regexp(t, `^F\d+$`, f.ID)
	}
	h, _ := b.Hip()
	require.Equal(t, films[2].ID, h.Baseline)
	tr, err := b.Trend()
	require.NoError(t, err)
	require.Equal(t, films[2].ID, tr.Baseline.ID)
	for _, p := range tr.Penetration {
		require.NotNil(t, b.strip.ByID(p.Film.ID))
	}
	kept, err := b.book.store.Films(t.Context(), h.ID)
	require.NoError(t, err)
	require.Len(t, kept, len(dates))
}
