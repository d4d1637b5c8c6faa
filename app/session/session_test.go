package session

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

func TestFilmsComeInDateOrderAndAreProposed(t *testing.T) {
	b := opened(t)
	require.Len(t, b.strip.Films(), 5)
	for i, f := range b.strip.Films() {
		require.Equal(t, dates[i], f.DateText())
		require.Equal(t, Proposed, f.State())
		require.NotNil(t, f.Preview)
	}
	require.Equal(t, 0, b.strip.SelectedIndex(), "the earliest film is shown")
	y, ok := b.Years(b.strip.Films()[4])
	require.True(t, ok)
	require.InDelta(t, 10, y, 0.01)
}

// A file that cannot be read is no film: it stands in what was opened, with its reason.
func TestBadFileIsToldBesideTheFilms(t *testing.T) {
	b := newBench(t)
	dir := t.TempDir()
	b.strip.Add([]string{touch(t, dir, "2004-03-01.dcm"), touch(t, dir, "broken.dcm")})
	b.drain()
	require.Len(t, b.strip.Films(), 1)
	found := b.intake.Found()
	require.True(t, found.Unclear())
	require.Equal(t, []Fault{{"broken.dcm", filepath.Join(dir, "broken.dcm"), study.Note{Text: "malformed: no film"}}}, found.Faults)
	require.Equal(t, 0, b.strip.SelectedIndex())
	require.True(t, b.NeedsHip())
}

func TestNameThatIsNoneLeavesTheOtherFilms(t *testing.T) {
	b := newBench(t)
	dir := t.TempDir()
	b.strip.Add([]string{filepath.Join(dir, "none"), touch(t, dir, "2004-03-01.dcm"), t.TempDir()})
	b.drain()
	require.Len(t, b.strip.Films(), 1)
	require.Contains(t, b.Notice(), "none: no such file or directory; ")
	require.Contains(t, b.Notice(), ": no films in this folder")
}

func TestFileThatCannotBeReadIsToldWhereNoneCan(t *testing.T) {
	b := newBench(t)
	dir := t.TempDir()
	b.strip.Add([]string{touch(t, dir, "broken.dcm")})
	b.drain()
	require.Empty(t, b.strip.Films())
	require.True(t, b.intake.Found().Unclear())
	b.strip.Add([]string{touch(t, dir, "2004-03-01.dcm")})
	b.drain()
	require.Equal(t, "2004-03-01.dcm", b.strip.Selected().Name())
}

func TestPathsAreKeptWhole(t *testing.T) {
	dir := t.TempDir()
	touch(t, dir, "2004-03-01.dcm")
	t.Chdir(dir)
	b := newBench(t)
	b.strip.Add([]string{"2004-03-01.dcm"})
	b.drain()
	require.True(t, filepath.IsAbs(b.strip.Films()[0].Path))
	require.Equal(t, "2004-03-01.dcm", b.strip.Films()[0].Name())
}

func TestSamePictureTwiceIsOneFilm(t *testing.T) {
	b := newBench(t)
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-03-01.dcm"), touch(t, t.TempDir(), "2004-03-01.dcm")})
	b.drain()
	require.Len(t, b.strip.Films(), 1)
	require.Equal(t, Loaded, b.strip.Films()[0].State())
	require.Equal(t, "Opened once, since the picture is that of another file: 2004-03-01.dcm.", b.Notice())
}

func TestRefusedFilmIsDrawnByHandAndRefined(t *testing.T) {
	b := newBench(t)
	b.refuse["2004-03-01.dcm"] = "no hip"
	b.Viewer().SetViewport(800, 600, 1)
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-03-01.dcm")})
	b.drain()
	require.NoError(t, b.SetHip(hip()))
	b.drain()
	f := b.strip.Selected()
	require.Equal(t, Refused, f.State())
	require.Equal(t, "no hip", study.NoteWords(f.Reason))
	b.Edits().DrawByHand()
	require.Equal(t, Edited, f.State())
	require.Contains(t, study.Told(b.Numbers(f).Err), "head and cup are only roughly in place")
	require.Contains(t, study.Told(b.Accept()), "nothing to accept", "nobody has placed them")
	b.Edits().Nudge(1, 0)
	require.Contains(t, study.Told(b.Numbers(f).Err), "the cup is only roughly in place")
	b.Edits().SetPart(Cup)
	b.Edits().Grow(1)
	n := b.Numbers(f)
	require.NoError(t, n.Err)
	require.Contains(t, study.Texts(n.Warnings), study.WarningWords(f.Draft.Head.byHand(Head, n.Reading.Scale)))
	head, cup := f.Draft.Head.Outline(), f.Draft.Cup.Outline()
	require.Greater(t, math.Sqrt(head.Cov[1][1]), 9.0, "nobody has brought it to the edge, 10 px off")
	require.Greater(t, math.Sqrt(cup.Cov[2][2]), math.Abs(cup.R-cupRadius)*0.9)
	b.history.Undo()
	b.history.Undo()
	b.Edits().RefineBoth()
	b.one()
	require.InDelta(t, headRadius, f.Draft.Head.At.R, 1e-9)
	require.InDelta(t, cupRadius, f.Draft.Cup.At.R, 1e-9)
	b.history.Undo()
	b.history.Undo()
	require.Nil(t, f.Draft)
	require.Equal(t, Refused, f.State())
}

func TestLiveNumbersAndTrend(t *testing.T) {
	b := opened(t)
	b.strip.Select(4)
	p, ok := b.Penetration(b.strip.Selected())
	require.True(t, ok)
	want := (b.superPx["2014-01-01.dcm"] - b.superPx["2004-03-01.dcm"]) * 0.1
	require.InDelta(t, want, p.Superior, 1e-9)
	require.InDelta(t, 0, p.Medial, 1e-9)
	tr, err := b.Trend()
	require.NoError(t, err)
	require.InDelta(t, 0.1, tr.Fit.Rate, 1e-9, "1 px of 0.1 mm a year")
	n := b.Numbers(b.strip.Selected())
	require.InDelta(t, 1.15, n.Magnification, 1e-9)

	// Up on the film is superior; to the right is medial on a right hip.
	b.Edits().Nudge(3, -10)
	p, _ = b.Penetration(b.strip.Selected())
	require.InDelta(t, want+1.0, p.Superior, 1e-9)
	require.InDelta(t, 0.3, p.Medial, 1e-9)
	moved, err := b.Trend()
	require.NoError(t, err)
	require.Greater(t, moved.Fit.Rate, tr.Fit.Rate+1e-5, "the trend follows the draft, which weighs as little as a hand is sure")
}

func TestHeadOutsideTheCupIsTold(t *testing.T) {
	b := opened(t)
	const warning = "the head's outline crosses the cup's: check both"
	require.NotContains(t, study.Texts(b.Numbers(b.strip.Selected()).Remarks()), warning)
	b.Edits().Nudge(0, cupRadius-headRadius+5)
	require.Contains(t, study.Texts(b.Numbers(b.strip.Selected()).Remarks()), warning)
}

func TestImplausibleMagnificationIsTold(t *testing.T) {
	b := opened(t)
	h := hip()
	h.Implant.HeadMM = 22
	require.NoError(t, b.SetHip(h))
	b.drain()
	require.Contains(t, study.WarningWords(b.Numbers(b.strip.Selected()).Warnings[0]), "implied magnification 1.46")
	require.Equal(t, "change implant and dates", b.history.UndoName())
	b.history.Undo()
	b.drain()
	got, _ := b.Hip()
	require.Equal(t, 28.0, got.Implant.HeadMM)
}

func TestAcceptAsksForReaderAndStudyThenSavesAtOnce(t *testing.T) {
	b := opened(t)
	require.ErrorIs(t, b.Accept(), ErrNoReader)
	require.NoError(t, b.SetReader("R2"))
	require.ErrorIs(t, b.Accept(), ErrNoStudy)
	path := filepath.Join(t.TempDir(), "hip")
	require.NoError(t, b.book.create(path))
	require.NoError(t, b.Accept())
	require.Equal(t, Accepted, b.strip.Selected().State())
	require.True(t, b.strip.NextPending())
	require.Equal(t, 1, b.strip.SelectedIndex())

	m := memoryFiles[path+study.FileExt]
	require.Len(t, readingsIn(t, m), 1)
	require.Equal(t, "R2", readingsIn(t, m)[0].Reader)
	require.Equal(t, "test", readingsIn(t, m)[0].Version)
	hips, err := m.Hips(t.Context())
	require.NoError(t, err)
	require.Equal(t, "H1", hips[0].ID, "the ID carries no fact")

	// A changed outline is a draft again; accepting it supersedes.
	b.strip.Select(0)
	b.Edits().Nudge(0.1, 0)
	require.Equal(t, Edited, b.strip.Selected().State())
	require.Equal(t, 1, b.strip.Unsaved())
	require.NoError(t, b.Accept())
	require.Len(t, readingsIn(t, m), 2)
	require.Equal(t, readingsIn(t, m)[0].ID, readingsIn(t, m)[1].Supersedes)
	require.Equal(t, "accept film 1", b.history.UndoName())

	// A store that fails leaves the draft a draft.
	m.Fail = errors.New("disk full")
	b.Edits().Nudge(0.1, 0)
	require.Error(t, b.Accept())
	require.Equal(t, Edited, b.strip.Selected().State())
}

func TestBothHipsOfOneFilmAreKeptApart(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R2"))
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	_, err := createMemory(path)
	require.NoError(t, err)
	m := memoryFiles[path]
	other := secondHip(b, m)
	f := b.strip.Selected().Film
	f.Given.SourceMM = 1100
	f, err = m.SaveFilm(t.Context(), f, b.stamp())
	require.NoError(t, err)
	require.NoError(t, m.SaveLink(t.Context(), study.Link{HipID: other.ID, FilmID: f.ID}, study.Stamp{}))
	require.NoError(t, b.book.create(path))
	require.NoError(t, b.Accept())
	require.Equal(t, f, b.strip.Selected().Film, "it is one film of both, with what was told of it")
	require.NotEqual(t, other.ID, b.hip.ID)
	require.Equal(t, []string{f.ID, b.hip.ID}, []string{readingsIn(t, m)[0].FilmID, readingsIn(t, m)[0].HipID})
	films, err := m.Films(t.Context(), other.ID)
	require.NoError(t, err)
	require.Equal(t, []study.Film{f}, films, "the other hip keeps its film")
}

func TestStudyIsReopenedWithItsReadings(t *testing.T) {
	b := opened(t)
	require.NoError(t, b.SetReader("R2"))
	path := filepath.Join(t.TempDir(), "s"+study.FileExt)
	require.NoError(t, b.book.create(path))
	b.Edits().Nudge(0, -5)
	require.NoError(t, b.Accept())
	want := b.strip.Selected().Draft.Head.At
	gone := b.strip.Selected().Path

	again := newBench(t)
	again.superPx = b.superPx
	require.NoError(t, os.Remove(gone))
	require.NoError(t, again.book.open(path))
	again.drain()
	require.Equal(t, path, again.book.Path())
	require.Len(t, again.strip.Films(), 5, "the films that were open come back")
	f := again.strip.Films()[0]
	require.Equal(t, Accepted, f.State())
	require.Equal(t, want, f.Draft.Head.At)
	got, known := again.Hip()
	require.True(t, known)
	require.Equal(t, hip().Implant, got.Implant)
	require.Equal(t, []string{path}, again.book.Recent())
	require.NoError(t, again.Close())
}

func TestCancelAndResume(t *testing.T) {
	b := newBench(t)
	begun, block := make(chan struct{}, 4), make(chan struct{})
	open := b.cfg.Open
	b.cfg.Open = func(p string) (f *filmFile, err error) { begun <- struct{}{}; <-block; return open(p) }
	dir := t.TempDir()
	b.strip.Add([]string{touch(t, dir, "2004-03-01.dcm"), touch(t, dir, "2005-01-01.dcm")})
	b.one() // the list of files
	<-begun
	<-begun
	_, total := b.Work().Progress()
	require.Equal(t, 2, total-1)
	b.Work().Cancel()
	_, total = b.Work().Progress()
	require.Zero(t, total)
	require.True(t, b.Work().Idle())
	for range 2 { // late results are dropped; one at a time, since what waits comes in one message
		block <- struct{}{}
		b.one()
	}
	close(block)
	require.Equal(t, Waiting, b.strip.Films()[0].State())
	b.Work().Resume()
	b.drain()
	require.Equal(t, Loaded, b.strip.Films()[0].State())
}

func TestReaderCode(t *testing.T) {
	b := newBench(t)
	for _, bad := range []string{"", "  ", "Dr Anne Example", "a/b", "0123456789abc"} {
		require.Error(t, b.SetReader(bad), bad)
	}
	require.NoError(t, b.SetReader(" AB-1 "))
	require.Equal(t, "AB-1", b.Reader())
}
