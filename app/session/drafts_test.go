package session

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// waitSaved runs what comes from the background until nothing waits to be saved.
func (b *bench) waitSaved() {
	b.t.Helper()
	for b.drafts.waiting {
		b.one()
	}
}

func TestDraftIsOnDiskWithinASecondAndComesBack(t *testing.T) {
	b := opened(t)
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, b.SetReader("R2"))
	require.NoError(t, b.book.Create(path))
	began := time.Now()
	b.Edits().Nudge(3, 0)
	want := b.strip.Selected().Draft.Head.At
	b.waitSaved()
	require.Less(t, time.Since(began), time.Second)
	require.Len(t, draftsIn(t, memoryFiles[path]), 1)
	require.Len(t, filmsIn(t, memoryFiles[path]), 5, "the other open films, too")

	// Another program opens the file; this one never got to close it.
	other := newBench(t)
	require.NoError(t, other.book.Open(path))
	other.drain()
	require.Len(t, other.strip.Films(), 5, "none was accepted; all come back")
	f := other.strip.Films()[0]
	require.Equal(t, Edited, f.State())
	require.Equal(t, want, f.Draft.Head.At)
	other.Edits().Discard()
	other.drain()
	require.Equal(t, Proposed, f.State(), "discarding looks for the outlines anew")
	other.waitSaved()
	require.Empty(t, draftsIn(t, memoryFiles[path]))
	other.strip.Remove(0)
	require.Len(t, filmsIn(t, memoryFiles[path]), 4)
	other.history.Undo()
	other.waitSaved()
	require.Len(t, filmsIn(t, memoryFiles[path]), 5)
}

func TestAcceptingDropsTheDraftAtOnce(t *testing.T) {
	b := opened(t)
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, b.SetReader("R2"))
	require.NoError(t, b.book.Create(path))
	b.Edits().Nudge(3, 0)
	b.waitSaved()
	require.NoError(t, b.Accept())
	require.Empty(t, draftsIn(t, memoryFiles[path]))
	require.Len(t, readingsIn(t, memoryFiles[path]), 1)
}

func TestDraftsWithoutAStudyAreTakenUp(t *testing.T) {
	own := filepath.Join(t.TempDir(), "unfinished.linerwatch")
	b := opened(t)
	b.cfg.UnfinishedPath = own
	b.strip.Select(2)
	b.Edits().Nudge(0, 4)
	want := b.strip.Selected().Draft.Head.At
	b.waitSaved()

	// Another window at the same time neither sees that work nor writes over it.
	second := opened(t)
	second.cfg.UnfinishedPath = own
	_, ok := second.drafts.Left()
	require.False(t, ok, "its window is still open")
	second.Edits().Nudge(7, 0)
	second.waitSaved()
	require.Equal(t, filepath.Join(filepath.Dir(own), "unfinished-2.linerwatch"), second.drafts.path)
	require.NoError(t, second.drafts.Drop())
	require.NoError(t, second.Close())
	require.NoError(t, b.Close())
	require.NoFileExists(t, claimPath(own))

	other := newBench(t)
	other.cfg.UnfinishedPath = own
	u, ok := other.drafts.Left()
	require.True(t, ok)
	third := newBench(t)
	third.cfg.UnfinishedPath = own
	same, ok := third.drafts.Left()
	require.True(t, ok)
	require.Equal(t, 1, u.Films)
	require.Equal(t, "T1 right", u.Hip.Label())
	require.NoError(t, other.drafts.TakeUp(u))
	other.drain()
	require.Equal(t, "another window has taken this work up", study.Told(third.drafts.TakeUp(same)))
	require.Len(t, other.strip.Films(), 5, "all films of the strip come back")
	require.Equal(t, want, other.strip.Films()[2].Draft.Head.At)
	require.Equal(t, Proposed, other.strip.Films()[0].State())

	// A study file takes the drafts over.
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, other.book.Create(path))
	require.Len(t, draftsIn(t, memoryFiles[path]), 1)
	require.Len(t, filmsIn(t, memoryFiles[path]), 5)
	require.Empty(t, filmsIn(t, memoryFiles[own]), "and the program's own file forgets them")
	_, ok = other.drafts.Left()
	require.False(t, ok)
}

func TestExcludedFilmStaysAndIsUndone(t *testing.T) {
	b := opened(t)
	require.ErrorIs(t, b.given.Exclude("projection", ""), ErrNoReader)
	require.NoError(t, b.SetReader("R2"))
	require.ErrorIs(t, b.given.Exclude("projection", ""), ErrNoStudy)
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, b.book.Create(path))
	b.strip.Select(4)
	before, err := b.Trend()
	require.NoError(t, err)
	require.NoError(t, b.given.Exclude("projection", ""))
	require.Equal(t, Excluded, b.strip.Selected().State())
	after, err := b.Trend()
	require.NoError(t, err)
	require.Len(t, after.Penetration, len(before.Penetration)-1)
	aside := b.course.Aside()
	require.Len(t, aside, 1)
	require.InDelta(t, before.Penetration[4].Superior, aside[0].Superior, 1e-9, "drawn where it would count")
	require.Equal(t, "leave out film 5", b.history.UndoName())
	require.Equal(t, "projection", exclusionsIn(t, memoryFiles[path])[0].Code)

	b.history.Undo()
	require.Nil(t, b.strip.Selected().Excluded)
	require.Len(t, exclusionsIn(t, memoryFiles[path]), 2, "taking back is a decision of its own")
	require.NoError(t, b.given.Exclude("exposure", "blurred"))
	other := newBench(t)
	require.NoError(t, other.book.Open(path))
	other.drain()
	require.Equal(t, "exposure", other.strip.Films()[0].Excluded.Code)
}

func TestFilmThatFailedIsReadAgain(t *testing.T) {
	b := newBench(t)
	open, broken := b.cfg.Open, true
	b.cfg.Open = func(path string) (*filmFile, error) {
		if broken {
			return nil, context.DeadlineExceeded
		}
		return open(path)
	}
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-03-01.dcm")})
	b.drain()
	require.Equal(t, Failed, b.strip.Films()[0].State())
	broken = false
	b.Work().Retry(b.strip.Films()[0])
	b.drain()
	require.Equal(t, Loaded, b.strip.Films()[0].State())
}

func TestWrongHeadIsDoubtedBeforeANumberIsTrusted(t *testing.T) {
	b := opened(t)
	require.Empty(t, b.Doubt(b.strip.Selected()))
	h := hip()
	h.Implant.HeadMM = 22
	require.NoError(t, b.SetHip(h))
	b.drain()
	require.Contains(t, b.Doubt(b.strip.Selected()), "A 22 mm head would mean that this film magnifies 1.46 times.")
}

// TestClaimOfAnEndedProcess: work of a program that was killed can be taken up.
func TestClaimOfAnEndedProcess(t *testing.T) {
	own := filepath.Join(t.TempDir(), "unfinished.linerwatch")
	b := opened(t)
	b.cfg.UnfinishedPath = own
	b.Edits().Nudge(0, 4)
	b.waitSaved()
	self, err := os.Executable()
	require.NoError(t, err)
	child := exec.Command(self, "-test.run=^$")
	require.NoError(t, child.Run())
	require.NoError(t, os.WriteFile(claimPath(own), []byte(strconv.Itoa(child.Process.Pid)), 0o600))
	other := newBench(t)
	other.cfg.UnfinishedPath = own
	u, ok := other.drafts.Left()
	require.True(t, ok)
	require.NoError(t, other.drafts.TakeUp(u))
	require.Len(t, other.strip.Films(), 5)

	require.NoError(t, os.WriteFile(claimPath(own), []byte("no number"), 0o600))
	third := newBench(t)
	third.cfg.UnfinishedPath = own
	_, ok = third.drafts.Left()
	require.True(t, ok, "a damaged claim holds nothing back")
	require.NoError(t, third.drafts.DropLeft(u))
	_, ok = third.drafts.Left()
	require.False(t, ok)
}
