package session

import (
	"context"
	"image"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// twoSides makes the bench find the AP film's hip a second time at the middle of the
// film, where only the search of a lateral film looks.
func twoSides(b *bench) {
	one := b.cfg.Detect
	b.cfg.Detect = func(ctx context.Context, img *image.Gray16, opt find.Options) ([]measure.Hip, error) {
		hips, err := one(ctx, img, opt)
		if err != nil || opt.Side != measure.SideUnknown {
			return hips, err
		}
		h := hips[0]
		h.Side = measure.Left
		h.Cup = outline(measure.Circle{X: filmSize / 2, Y: filmSize / 2, R: cupRadius})
		h.Warnings = []measure.Warning{{Code: measure.SideUnproven, Text: "the side is not proven"}}
		return append([]measure.Hip{h}, hips...), nil
	}
}

func TestFilmIsSearchedAgainForItsView(t *testing.T) {
	b := opened(t)
	twoSides(b)
	f := b.strip.Selected()
	ap := f.Draft
	require.NoError(t, b.given.SetView(study.Lateral))
	require.Equal(t, Searching, f.State())
	b.drain()
	require.Equal(t, Proposed, f.State())
	require.Equal(t, 300.0, f.Draft.Cup.At.Y, "the hip at the middle of the film")
	require.Empty(t, f.Draft.Found, "a lateral film raises no doubt of the side")

	b.history.Undo()
	require.Equal(t, study.AP, b.View(f))
	require.Equal(t, ap, f.Draft)
	require.Equal(t, ap, f.proposal)
	require.Equal(t, Proposed, f.State())
	b.history.Redo()
	b.drain()
	require.Equal(t, study.Lateral, b.View(f))
	require.Equal(t, 300.0, f.Draft.Cup.At.Y)

	// Marked back while the search runs: what it brings is not taken.
	require.NoError(t, b.given.SetView(study.AP))
	require.NoError(t, b.given.SetView(study.Lateral))
	require.NoError(t, b.given.SetView(study.AP))
	b.drain()
	require.Equal(t, 310.0, f.Draft.Cup.At.Y)
}

func TestSearchForAViewLeavesTheReadersOutlines(t *testing.T) {
	b := opened(t)
	twoSides(b)
	f := b.strip.Selected()
	b.Edits().Nudge(2, 0)
	mine := *f.Draft
	require.NoError(t, b.given.SetView(study.Lateral))
	b.drain()
	require.Equal(t, Edited, f.State())
	require.Equal(t, mine, *f.Draft)
	require.Equal(t, 300.0, f.proposal.Cup.At.Y)
	b.Edits().NextProposal()
	require.Equal(t, 300.0, f.Draft.Cup.At.Y, "what the search proposes is one key away")
	b.history.Undo()
	require.Equal(t, mine, *f.Draft)
	b.history.Undo()
	require.Equal(t, study.AP, b.View(f))
	require.Equal(t, mine, *f.Draft)
	b.Edits().Discard()
	require.Equal(t, 310.0, f.Draft.Cup.At.Y, "the proposal for the AP view is there again")
}
