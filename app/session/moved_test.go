package session

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// movedAway is a bench on a study whose films have gone to another folder.
func movedAway(t *testing.T) (b *bench, from, to string) {
	first, path := filed(t)
	first.strip.Select(1)
	require.NoError(t, first.Accept())
	for _, f := range first.strip.Films() { // all of them are films of the study
		require.NoError(t, first.book.saveFilm(t.Context(), f))
	}
	from, to = filepath.Dir(first.strip.Films()[0].Path), filepath.Join(t.TempDir(), "new")
	require.NoError(t, first.Close())
	require.NoError(t, os.Rename(from, to))
	b = newBench(t)
	b.cfg.Studies = onDisk
	b.cfg.Open = whereItIs(b)
	require.NoError(t, b.SetReader("R1"))
	require.NoError(t, b.book.open(path))
	b.drain()
	require.Len(t, b.strip.Films(), 5)
	for _, f := range b.strip.Films() {
		require.True(t, f.Lost())
	}
	return b, from, to
}

func TestFilmsAreLookedForInAnotherFolder(t *testing.T) {
	b, _, to := movedAway(t)
	require.NoError(t, os.Remove(filepath.Join(to, dates[4]+".dcm")))
	b.book.LookIn(t.TempDir())
	b.drain()
	require.Contains(t, b.Notice(), "no films in this folder")
	b.book.LookIn(to)
	b.drain()
	require.Equal(t, "Found again: 4 films. Still missing: 1 film ("+dates[4]+".dcm).", b.Notice())
	require.Equal(t, Accepted, b.strip.Films()[0].State())
	require.NotNil(t, b.strip.Films()[0].Preview)
	path := b.book.Path()
	require.NoError(t, b.Close())

	again := newBench(t)
	again.cfg.Studies, again.cfg.Open = onDisk, whereItIs(again)
	require.NoError(t, again.book.open(path))
	again.drain()
	require.Len(t, again.strip.Films(), 5)
	for i, f := range again.strip.Films() {
		require.Equal(t, i == 4, f.Lost(), "the new places are saved")
	}
}

func TestFilmsOpenedAgainElsewhereAreFoundAndNoDoubles(t *testing.T) {
	b, _, to := movedAway(t)
	b.strip.Add([]string{to})
	b.drain()
	require.Len(t, b.strip.Films(), 5)
	require.Equal(t, "Found again where they are now: 5 films.", b.Notice())
	for _, f := range b.strip.Films() {
		require.Equal(t, to, filepath.Dir(f.Path))
		require.False(t, f.Unreadable())
	}
	b.strip.Select(1)
	b.Edits().Nudge(1, 0)
	was := b.strip.Selected().Readings[0].ID
	require.NoError(t, b.Accept())
	list, err := b.book.store.Readings(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Len(t, list, 3)
	require.Equal(t, was, list[2].Supersedes, "a reread is told")
	films, err := b.book.store.Films(t.Context(), b.hip.ID)
	require.NoError(t, err)
	require.Len(t, films, 5)
	require.Equal(t, to, filepath.Dir(films[4].Path))
}

func TestGoneStudyIsToldAndKept(t *testing.T) {
	b, path := filed(t)
	require.NoError(t, b.book.Look())
	require.NoError(t, os.Rename(path, path+".away"))
	require.ErrorIs(t, b.book.Look(), study.ErrMoved)
	for len(b.queue) > 0 {
		b.one()
	}
	require.Contains(t, b.Notice(), "moved, removed or replaced")
	b.strip.Select(1)
	require.NoError(t, b.given.Exclude("rotated", ""))
	require.NotContains(t, b.Notice(), "saved:")
	h, _ := b.Hip()
	h.Group = "B"
	require.NoError(t, b.SetHip(h), "what is changed holds in the window")
	require.NoError(t, os.Rename(path+".away", path))
	require.ErrorIs(t, b.book.Fault(), study.ErrMoved, "the file that is back lacks what was done meanwhile")
	to := b.book.FreePath()
	require.Equal(t, filepath.Join(filepath.Dir(path), "s-2"+study.FileExt), to)
	require.NoError(t, b.saveAs(to))
	require.NoError(t, b.book.Fault())
	h, _ = b.Hip()
	h.Group = "C"
	require.NoError(t, b.SetHip(h), "no conflict with oneself")
	list, err := b.book.store.Exclusions(t.Context(), h.ID)
	require.NoError(t, err)
	require.Len(t, list, 1)
}

func TestStudyThatIsBackIsNoFault(t *testing.T) {
	b, path := filed(t)
	require.NoError(t, b.book.Look())
	require.NoError(t, os.Rename(path, path+".away"))
	require.ErrorIs(t, b.book.Look(), study.ErrMoved)
	require.NoError(t, os.Rename(path+".away", path))
	for b.book.Fault() != nil { // the watch sees it
		b.one()
	}
	require.Equal(t, filepath.Base(path)+" is at its place again and lacks nothing: work goes on in it.", b.Notice())
	b.strip.Select(1)
	require.NoError(t, b.Accept())
	require.NoError(t, b.book.Look())

	require.NoError(t, os.Rename(path, path+".away"))
	require.ErrorIs(t, b.book.Look(), study.ErrMoved, "it is told again")
	b.strip.Select(2)
	require.ErrorIs(t, b.Accept(), study.ErrMoved)
	require.NoError(t, os.Rename(path+".away", path))
	require.ErrorIs(t, b.book.Look(), study.ErrMoved, "now it lacks a reading")
	require.NoError(t, b.saveAs(b.book.FreePath()))
}

// A look that began before the file went, and ends when that was told, takes nothing back.
func TestALookFromBeforeTakesNoFaultBack(t *testing.T) {
	b, _ := filed(t)
	g := b.book.guard
	was := g.gone.Load()
	require.NoError(t, g.heed(study.ErrMoved))
	b.book.found(g, was, nil)
	require.ErrorIs(t, b.book.Fault(), study.ErrMoved)
	was = g.gone.Load()
	require.NoError(t, g.heed(study.ErrMoved))
	b.book.found(g, was, nil)
	require.ErrorIs(t, b.book.Fault(), study.ErrMoved)
	b.book.found(g, g.gone.Load(), nil)
	require.NoError(t, b.book.Fault())
}

func TestConflictIsSettledFieldByField(t *testing.T) {
	b, path := filed(t)
	other := newBench(t)
	other.cfg.Studies = onDisk
	require.NoError(t, other.book.open(path))
	other.drain()
	h, _ := other.Hip()
	h.Implant.LinerMM, h.Implant.PE, h.Group = 8.5, "conventional", "A"
	require.NoError(t, other.SetHip(h))

	mine, _ := b.Hip()
	mine.Group, mine.Implant.Fixation = "B", "cemented"
	require.Error(t, b.SetHip(mine))
	c, ok := b.book.Conflict()
	require.True(t, ok)
	require.Equal(t, []Disagreement{
		{"Group", "B", "A", Undecided},
		{"Liner thickness", "8 mm", "8.5 mm", Theirs},
		{"Polyethylene", "highly cross-linked", "conventional", Theirs},
		{"Fixation", "cemented cup", "not entered", Mine},
	}, c.Fields)
	require.NoError(t, c.Settle([]Choice{Theirs, Theirs, Theirs, Mine}))
	_, ok = b.book.Conflict()
	require.False(t, ok)
	now, _ := b.Hip()
	require.Equal(t, "A", now.Group)
	require.Equal(t, 8.5, now.Implant.LinerMM)
	require.Equal(t, "cemented", now.Implant.Fixation)
	changes, err := b.book.store.HipChanges(t.Context(), now.ID)
	require.NoError(t, err)
	n := len(changes)
	require.Equal(t, "B", changes[n-1].Before.Group, "mine is kept")
	require.Equal(t, "A", changes[n-2].Before.Group, "and theirs")
	require.NoError(t, other.Close())
}

func TestConflictOfAFilmIsSettled(t *testing.T) {
	b, path := filed(t)
	other := newBench(t)
	other.cfg.Studies = onDisk
	require.NoError(t, other.book.open(path))
	other.drain()
	require.NoError(t, other.given.change(other.strip.Films()[0], study.Note{}, func(f *study.Film) { f.Given.SourceMM = 1150 }))
	set := func(mm float64) error {
		return b.given.change(b.strip.Films()[0], study.Note{}, func(f *study.Film) { f.Given.SourceMM = mm })
	}
	err := set(1000)
	require.Error(t, err)
	require.NotRegexp(t, regexp.MustCompile(`[0-9a-f]{20}`), err.Error())
	require.Zero(t, b.strip.Films()[0].Given.SourceMM)
	c, ok := b.book.Conflict()
	require.True(t, ok)
	require.Equal(t, []Disagreement{{"Source to detector", "1000 mm", "1150 mm", Undecided}}, c.Fields)
	require.NoError(t, c.Settle([]Choice{Theirs}))
	require.Equal(t, 1150.0, b.strip.Films()[0].Given.SourceMM)
	require.NoError(t, set(1200))
	require.NoError(t, other.Close())
}
