package session

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
)

func factOf(t *testing.T, list []Fact, name string) Fact {
	t.Helper()
	for _, f := range list {
		if f.Name == name {
			return f
		}
	}
	t.Fatalf("no fact %q in %v", name, list)
	return Fact{}
}

func TestFilmFactsSayWhatToDo(t *testing.T) {
	b := opened(t)
	b.strip.Select(3)
	list := b.FilmFacts(b.strip.Selected())
	require.Equal(t, "0.1150 mm per pixel at the detector", factOf(t, list, "Spacing in the file").Value)
	require.Equal(t, "radius 25.00 mm, at baseline 25.00 mm (+0.0 %)", factOf(t, list, "Cup against baseline").Value)
	require.Empty(t, factOf(t, list, "Cup against baseline").Todo)
	b.Edits().SetPart(measure.Cup)
	b.Edits().Grow(10)
	list = b.FilmFacts(b.strip.Selected())
	require.Contains(t, factOf(t, list, "Cup against baseline").Value, "(+4.0 %)")
	require.Contains(t, factOf(t, list, "Cup against baseline").Todo, "check both outlines")
	require.Contains(t, factOf(t, list, "Remark").Name, "Remark")
}

func TestUndatedFilmGetsItsDate(t *testing.T) {
	b := newBench(t)
	open := b.cfg.Open
	b.cfg.Open = func(p string) (*filmFile, error) {
		f, err := open(p)
		if err == nil {
			f.Date = time.Time{}
		}
		return f, err
	}
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-03-01.dcm")})
	b.drain()
	require.Equal(t, "no date", b.strip.Selected().DateText())
	require.Contains(t, study.Told(b.given.SetDate("1.3.2004")), "year-month-day")
	require.Contains(t, study.Told(b.given.SetDate("2094-01-01")), "in the future")
	require.NoError(t, b.given.SetDate("2004-03-01"))
	require.Equal(t, "2004-03-01", b.strip.Selected().DateText())
	require.Equal(t, "give the date of film 1", b.history.UndoName())
	b.history.Undo()
	require.Equal(t, "no date", b.strip.Selected().DateText())
	b.history.Redo()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	_, err := b.Trend()
	require.NoError(t, err)

	b = opened(t)
	require.Contains(t, study.Told(b.given.SetDate("2004-03-01")), "it is not changed")
}
