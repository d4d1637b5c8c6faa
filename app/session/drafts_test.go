package session

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
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
	require.NoError(t, b.book.create(path))
	began := time.Now()
	b.Edits().Nudge(3, 0)
	want := b.strip.Selected().Draft.Head.At
	b.waitSaved()
	require.Less(t, time.Since(began), time.Second)
	require.Len(t, draftsIn(t, memoryFiles[path]), 1)
	require.Len(t, filmsIn(t, memoryFiles[path]), 5, "the other open films, too")

	// Another program opens the file; this one never got to close it.
	other := newBench(t)
	require.NoError(t, other.book.open(path))
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
	require.NoError(t, b.book.create(path))
	b.Edits().Nudge(3, 0)
	b.waitSaved()
	require.NoError(t, b.Accept())
	require.Empty(t, draftsIn(t, memoryFiles[path]))
	require.Len(t, readingsIn(t, memoryFiles[path]), 1)
}

func TestExcludedFilmStaysAndIsUndone(t *testing.T) {
	b := opened(t)
	require.ErrorIs(t, b.given.Exclude("projection", ""), ErrNoReader)
	require.NoError(t, b.SetReader("R2"))
	require.ErrorIs(t, b.given.Exclude("projection", ""), ErrNoStudy)
	path := filepath.Join(t.TempDir(), "s.linerwatch")
	require.NoError(t, b.book.create(path))
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
	require.NoError(t, other.book.open(path))
	other.drain()
	require.Equal(t, "exposure", other.strip.Films()[4].Excluded.Code)
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
	require.Empty(t, b.strip.Films())
	require.Len(t, b.intake.Found().Faults, 1)
	broken = false
	b.intake.Retry()
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
	f := b.strip.Selected()
	f.Imager, f.Facts.SpacingMM = 0, f.Imager
	require.Contains(t, b.Doubt(f), "magnifies 1.46 times", "with its file missing, by what the study keeps of it")
}
