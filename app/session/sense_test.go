package session

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// A film of which the file shows bone dark, and says so, is searched and refined as
// the same film with bone bright.
func TestFilmOfDarkBoneIsRefined(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 100)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	f := &dicomio.Film{Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2",
		Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}}}
	hips, err := find.Hips(t.Context(), img, find.Options{HeadMM: 28, Side: measure.Right, Spacing: scene.Spacing})
	require.NoError(t, err)
	h := hips[0]
	dark := *f
	dark.Pixels, dark.Greys.Sign = f.Exchanged(f.Pixels), 1
	require.True(t, dark.BoneDark())

	b := newBench(t)
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		g := dark
		g.Path, g.SHA256 = path, path
		return source.Ready(&g)
	}
	b.cfg.Detect, b.cfg.Refine = find.Hips, find.Refine
	b.strip.Add([]string{touch(t, t.TempDir(), "2004-02-01.dcm")})
	b.drain()
	patient := hip()
	patient.Side, patient.Implant.HeadMM = measure.Right, 28
	require.NoError(t, b.SetHip(patient))
	b.drain()
	film := b.strip.Selected()
	require.Equal(t, Proposed, film.State(), film.Reason)
	require.InDelta(t, h.Head.X, film.Draft.Head.At.X, 1e-6)
	b.Edits().Nudge(2, 1)
	b.Edits().Refine()
	b.one()
	require.InDelta(t, h.Head.X, film.Draft.Head.At.X, 0.1, b.Notice())
	require.Contains(t, study.Texts(b.Numbers(film).Warnings),
		"outlines are looked for in the greys as shown and, where there are none, with dark and bright exchanged")
}
