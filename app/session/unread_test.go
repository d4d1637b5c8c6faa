package session

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// breaks makes the files of a bench unreadable from now on, for as long as broken is true.
func (b *bench) breaks(broken *bool) {
	b.cfg.Open = func(path string) (*filmFile, error) {
		if *broken {
			return nil, errors.New(filepath.Base(path) + ": malformed")
		}
		return b.open(path)
	}
}

// standingIn returns how a study keeps the search on the first film of its first hip.
func standingIn(t *testing.T, path string) (study.Link, study.FilmStanding) {
	st := memoryFiles[path]
	hips, err := st.Hips(t.Context())
	require.NoError(t, err)
	links, err := st.Links(t.Context(), hips[0].ID)
	require.NoError(t, err)
	r, err := st.Record(t.Context(), hips[0].ID)
	require.NoError(t, err)
	standing, _ := r.StandingOf(r.Entries(study.Anyone)[0])
	return links[0], standing
}

// That the file of a hip's film could not be read is kept: it is so when the study is
// opened again, until the reader has it read, and reading it takes that back.
func TestFilmThatCannotBeReadIsKeptSo(t *testing.T) {
	a, path := owned(t)
	a.strip.Add(a.folder("T1-R", "2004-03-01", "2006-03-01"))
	a.drain()
	require.NoError(t, a.SetHip(hip()))
	a.drain()
	a.waitSaved()
	l, standing := standingIn(t, path)
	require.Equal(t, study.Measured, l.Searched)
	require.Equal(t, study.StandsProposed, standing)

	broken := true
	b := newBench(t)
	b.breaks(&broken)
	require.NoError(t, b.book.open(path))
	b.drain()
	b.waitSaved()
	l, standing = standingIn(t, path)
	require.Equal(t, study.Failed, l.Searched)
	require.Contains(t, study.NoteWords(l.Reason), "malformed")
	require.Equal(t, study.StandsUnreadable, standing)

	broken = false
	c := newBench(t)
	c.breaks(&broken)
	require.NoError(t, c.book.open(path))
	c.drain()
	f := c.strip.Films()[0]
	require.Equal(t, Failed, f.State())
	require.Contains(t, study.NoteWords(f.Reason), "malformed")
	c.Work().Retry(f)
	c.drain()
	c.waitSaved()
	require.Equal(t, Proposed, f.State())
	l, standing = standingIn(t, path)
	require.Equal(t, study.Measured, l.Searched)
	require.Equal(t, study.StandsProposed, standing)
}

// A film whose file is missing is looked for anew each time: its disc may be back.
func TestMissingFilmIsNotKeptAsUnreadable(t *testing.T) {
	a, path := owned(t)
	films := a.folder("T1-R", "2004-03-01")
	a.strip.Add(films)
	a.drain()
	require.NoError(t, a.SetHip(hip()))
	a.drain()
	a.waitSaved()
	require.NoError(t, os.Rename(films[0], films[0]+".away"))
	b := newBench(t)
	b.cfg.Open = whereItIs(b)
	require.NoError(t, b.book.open(path))
	b.drain()
	require.Equal(t, Failed, b.strip.Films()[0].State())
	l, _ := standingIn(t, path)
	require.Equal(t, study.Measured, l.Searched)
	require.NoError(t, os.Rename(films[0]+".away", films[0]))
	c := newBench(t)
	c.cfg.Open = whereItIs(c)
	require.NoError(t, c.book.open(path))
	c.drain()
	require.Equal(t, Proposed, c.strip.Films()[0].State())
}

// Films that wait stand in date order, those without a date last, as in the strip.
func TestUndatedFilmsWaitLast(t *testing.T) {
	b := newBench(t)
	film := func(path string, date time.Time) study.Film {
		return study.Film{Path: path, Waits: study.NotSorted, Facts: study.Facts{Patient: "T2", Date: date}}
	}
	b.intake.films = []study.Film{film("b", time.Time{}), film("late", onDay(2010, 1, 1)), film("a", time.Time{}), film("early", onDay(2004, 1, 1))}
	piles := b.intake.Piles()
	require.Len(t, piles, 1)
	var paths []string
	for _, f := range piles[0].Films {
		paths = append(paths, f.Path)
	}
	require.Equal(t, []string{"early", "late", "a", "b"}, paths)
	s := piles[0].Summary()
	require.Equal(t, study.Span{First: onDay(2004, 1, 1), Last: onDay(2010, 1, 1)}, s.Span)
	slices.Reverse(b.intake.films)
	require.Equal(t, s.Span, b.intake.Piles()[0].Summary().Span)
}
