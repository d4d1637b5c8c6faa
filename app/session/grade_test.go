package session

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/study"
)

// asking returns a bench whose new studies ask for grades, with a study of five films.
func asking(t *testing.T) *bench {
	b := opened(t)
	b.cfg.GradesFirst = true
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	require.True(t, b.book.GradesFirst())
	b.course.renew()
	return b
}

func TestGradeComesBeforeNumbers(t *testing.T) {
	b := asking(t)
	_, err := b.Trend()
	require.ErrorIs(t, err, errUngraded)
	for i := range b.strip.films {
		b.strip.Select(i)
		f := b.strip.Selected()
		require.True(t, b.Covered(f))
		require.ErrorIs(t, b.Numbers(f).Err, ErrNoGrade)
		require.Zero(t, b.Numbers(f).Reading)
		require.Empty(t, b.Doubt(f), "it tells the magnification")
		_, moved := b.Penetration(f)
		require.False(t, moved)
		_, _, _, drawn := b.course.MovedOnFilm(f)
		require.False(t, drawn)
		require.ErrorIs(t, b.Accept(), ErrNoGrade)
		require.Error(t, b.SetGrade("D", ""))
		require.NoError(t, b.SetGrade("B", "tilt"))
		require.False(t, b.Covered(f))
		require.NoError(t, b.Numbers(f).Err)
		require.ErrorIs(t, b.SetGrade("A", ""), errGraded, "its numbers have been seen")
		tr, err := b.Trend()
		require.NoError(t, err)
		require.Len(t, tr.Films, i+1, "those that are graded")
		require.NoError(t, b.Accept())
	}
	r, err := b.book.store.Record(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Len(t, r.Grades, 5)
	for i, g := range r.Grades {
		require.Equal(t, []string{"B", "tilt", "R1", r.Readings[i].FilmID}, []string{g.Quality, g.Reason, g.Reader, g.FilmID})
		require.False(t, g.At.After(r.Readings[i].At))
	}

	require.NoError(t, b.OpenHip(b.hip.ID))
	f := b.strip.films[0]
	require.Equal(t, "B", b.Grade(f).Quality, "it is in the study")
	require.NoError(t, b.SetReader("R2"))
	require.Empty(t, b.Grade(f).Quality)
	require.False(t, b.Covered(f), "a reading counts, whoever looks")
	require.True(t, b.GradeDue(f))
	require.ErrorIs(t, b.Accept(), ErrNoGrade)
}

// A study that does not say that it asks for grades does not, and a change of that is seen at
// once and stands in the trail.
func TestGradesAreASettingOfTheStudy(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	f := b.strip.Selected()
	require.False(t, b.GradeDue(f))
	require.NoError(t, b.Numbers(f).Err)
	require.NoError(t, b.SetGrade("A", ""))
	require.Empty(t, b.Grade(f).Quality, "nobody asks")
	require.NoError(t, b.Accept())

	by := study.Stamp{Reader: "K1", At: b.now, Version: "0.1"}
	require.NoError(t, batch.SetGradesFirst(t.Context(), b.book.store, true, by))
	require.NoError(t, b.book.follow())
	b.drain()
	require.False(t, b.Covered(f), "it is read")
	require.True(t, b.Covered(b.strip.films[1]))
	var said []string
	require.NoError(t, b.book.store.Trail(t.Context(), func(row study.TrailRow) error {
		if row.What == "setting" {
			said = append(said, row.Reader)
		}
		return nil
	}))
	require.Equal(t, []string{"K1"}, said)
	require.NoError(t, batch.SetGradesFirst(t.Context(), b.book.store, false, by))
	require.NoError(t, b.book.follow())
	require.NoError(t, b.Numbers(b.strip.films[1]).Err)
}

// Nobody is known and no study is open: a grade waits for both.
func TestGradeNeedsAReaderAndAStudy(t *testing.T) {
	b := opened(t)
	b.cfg.GradesFirst, b.book.gradesFirst = true, true
	require.True(t, b.Covered(b.strip.Selected()))
	require.ErrorIs(t, b.SetGrade("A", ""), ErrNoReader)
	require.NoError(t, b.SetReader("R1"))
	require.ErrorIs(t, b.SetGrade("A", ""), ErrNoStudy)
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	require.NoError(t, b.SetGrade("A", ""))
	require.NoError(t, b.Accept())
}
