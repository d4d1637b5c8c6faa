package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// beside returns another window on the study of a bench, of the same reader.
func (b *bench) beside(path string) *bench {
	b.t.Helper()
	other := newBench(b.t)
	other.cfg.Studies = onDisk
	require.NoError(b.t, other.SetReader("R1"))
	require.NoError(b.t, other.book.open(path))
	other.drain()
	return other
}

// drafted are the films of which a study file keeps a reader's draft.
func drafted(t *testing.T, path string) []string {
	t.Helper()
	st, err := onDisk.Open(t.Context(), path, nil)
	require.NoError(t, err)
	hips, err := st.Hips(t.Context())
	require.NoError(t, err)
	list, err := st.Drafts(t.Context(), hips[0].ID)
	require.NoError(t, err)
	require.NoError(t, st.Close())
	var out []string
	for _, d := range list {
		if d.Kind == study.Edited {
			out = append(out, d.FilmID)
		}
	}
	return out
}

// Outlines changed in one window are kept for next time where another window has accepted
// the film meanwhile, whether that window knew of them or not.
func TestDraftOutlivesAnotherWindow(t *testing.T) {
	for name, knew := range map[string]bool{"opened before": false, "opened after": true} {
		t.Run(name, func(t *testing.T) {
			b, path := filed(t)
			for _, f := range b.strip.Films() {
				require.NoError(t, b.book.saveFilm(t.Context(), f))
			}
			edit := func() {
				b.strip.Select(3)
				b.Edits().Nudge(3, 0)
				require.NoError(t, b.drafts.Flush())
			}
			if knew {
				edit()
			}
			other := b.beside(path)
			if !knew {
				edit()
			}
			mine := b.strip.Selected().Draft.Head.At
			other.strip.Select(3)
			require.Equal(t, knew, other.strip.Selected().changed)
			require.NoError(t, other.Accept())
			require.Equal(t, !knew, len(drafted(t, path)) == 1, "what the other window did not know stays")
			require.NoError(t, b.drafts.Keep())
			require.Len(t, drafted(t, path), 1)
			require.NoError(t, other.Close())
			require.NoError(t, b.Close())

			again := newBench(t)
			again.cfg.Studies = onDisk
			require.NoError(t, again.book.open(path))
			again.drain()
			f := again.strip.Films()[3]
			require.Len(t, f.Readings, 1)
			require.Equal(t, Edited, f.State())
			require.Equal(t, mine, f.Draft.Head.At)
		})
	}
}

// Two drafts of one film are both kept: the later one stays in its window, which says so
// and cannot be left over it.
func TestTwoDraftsOfOneFilm(t *testing.T) {
	b, path := filed(t)
	for _, f := range b.strip.Films() {
		require.NoError(t, b.book.saveFilm(t.Context(), f))
	}
	other := b.beside(path)
	for _, w := range []*bench{b, other} {
		w.strip.Select(3)
		w.Edits().Nudge(2, 0)
	}
	require.NoError(t, b.drafts.Keep())
	require.ErrorIs(t, other.drafts.Keep(), errDraftElsewhere)
	other.strip.Select(4)
	require.NoError(t, other.Accept(), "other films are accepted all the same")
	require.ErrorIs(t, other.OpenHip(other.hip.ID), errDraftElsewhere)
	require.NoError(t, other.drafts.Drop())
	require.Len(t, drafted(t, path), 1, "the other one's stays")
	require.NoError(t, other.OpenHip(other.hip.ID))
}

// A film that another window has accepted is not accepted once more unseen: both readings
// are told, and the later one supersedes the earlier.
func TestAcceptedInAnotherWindow(t *testing.T) {
	b, path := filed(t)
	other := b.beside(path)
	b.strip.Select(1)
	b.strip.Select(2)
	b.Edits().Nudge(3, 0)
	mine := b.strip.Selected().Draft.Head.At
	for _, i := range []int{1, 2} {
		other.strip.Select(i)
		require.NoError(t, other.Accept())
	}
	b.strip.Select(1)
	require.Equal(t, Proposed, b.strip.Selected().State())
	err := b.Accept()
	require.ErrorIs(t, err, study.ErrReadSince)
	require.Contains(t, study.Told(err), "It is shown now")
	require.Equal(t, Accepted, b.strip.Selected().State())
	require.Len(t, b.strip.Selected().Readings, 1)

	b.strip.Select(2)
	f := b.strip.Selected()
	require.Equal(t, Edited, f.State(), "the same look has seen both")
	require.Equal(t, mine, f.Draft.Head.At)
	err = b.Accept()
	require.ErrorIs(t, err, study.ErrReadSince)
	require.Contains(t, study.Told(err), "Your outlines stay")
	require.Contains(t, study.Told(err), "there, 0.", "both are told")
	require.Len(t, f.Readings, 1)
	require.Equal(t, mine, f.Draft.Head.At)
	theirs := f.Readings[0].ID
	require.NoError(t, b.Accept())
	require.Len(t, f.Readings, 2)
	require.Equal(t, theirs, f.Readings[1].Supersedes)
}

// The strip follows what another window saves, without a key pressed here.
func TestStripFollowsAnotherWindow(t *testing.T) {
	b, path := filed(t)
	other := b.beside(path)
	other.strip.Select(1)
	require.NoError(t, other.Accept())
	other.strip.Select(2)
	require.NoError(t, other.given.Exclude("projection", ""))
	for b.strip.Films()[1].State() != Accepted {
		b.one() // the look at the file, which is taken each few seconds
	}
	require.Equal(t, Excluded, b.strip.Films()[2].State())
	require.Contains(t, b.Notice(), "film 2")
	other.history.Undo()
	other.history.Undo()
	require.NoError(t, b.book.catchUp())
	require.Equal(t, Proposed, b.strip.Films()[1].State())
	require.Equal(t, Proposed, b.strip.Films()[2].State())

	seen := b.book.guard.seen
	b.strip.Select(3)
	require.NoError(t, b.Accept())
	v, err := b.book.guard.Version(t.Context())
	require.NoError(t, err)
	require.Equal(t, seen, v, "what is saved here is not another window's")
}

// A rule that is set elsewhere counts here too, without a key pressed.
func TestRuleFollowsAnotherWindow(t *testing.T) {
	b, path := filed(t)
	b.strip.Select(0)
	require.NoError(t, b.Accept())
	require.NotNil(t, b.strip.Films()[0].Accepted)
	other := b.beside(path)
	require.NoError(t, other.book.SetCounts("R9"))
	for b.book.Counts() != "R9" {
		b.one() // the look at the file
	}
	require.Nil(t, b.strip.Films()[0].Accepted, "R9 has read none")
	require.Contains(t, b.Notice(), "readings of R9")
}
