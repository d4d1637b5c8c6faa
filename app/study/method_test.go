package study

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A head whose size implies a magnification that no hip has is not corrected for the cone
// beam, since the distance from source to hip would follow from it; nor is any other film
// of the hip then.
func TestDoubtedScaleIsNotCorrected(t *testing.T) {
	m := outlined(t)
	m.Film.Facts.SpacingMM = 1.2 * m.HeadMM / (2 * m.Head.R) // times that the film magnifies
	m.Film.Facts.SourceMM, m.Film.Given.Center = 1150, &Pixel{X: 700, Y: 900}
	good, err := m.Read(Method{Beam: true})
	require.NoError(t, err)
	require.True(t, good.How.Beam)

	m.Film.ID, m.Film.Facts.Date = "B", m.Film.Facts.Date.AddDate(1, 0, 0)
	m.Film.Facts.SpacingMM *= 1.25
	bad, err := m.Read(Method{Beam: true})
	require.NoError(t, err)
	require.False(t, bad.How.Beam)
	const why = "the head's size implies a magnification of 1.500, outside 1.05 to 1.35: the head diameter or the spacing is wrong"
	require.Equal(t, why, NoteWords(bad.Beam.Reason))
	require.Zero(t, bad.Beam.Center)

	out, how, notes := OneMethod(hipWith(Right, m.HeadMM), []Measurement{good, bad})
	require.False(t, how.Beam)
	require.Contains(t, NotesWords(notes)[0], why)
	require.False(t, out[0].How.Beam)
	require.Equal(t, "beam.magnified", out[1].Beam.Reason.Code)
}

func TestWarnFactor(t *testing.T) {
	for name, c := range map[string]struct {
		implied, stated float64
		doubtful        bool
	}{
		"alike": {1.2, 1.15, false}, "a little more": {1.2, 1.2 / 1.09, false}, "none stated": {1.2, 0, false},
		"more": {1.3, 1.15, true}, "less": {1.06, 1.3, true},
	} {
		_, doubtful := WarnFactor(c.implied, c.stated, "a tag")
		require.Equal(t, c.doubtful, doubtful, name)
	}
}
