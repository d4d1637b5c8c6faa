package session

import (
	"context"
	"errors"
	"image"
	"testing"

	"github.com/stretchr/testify/require"

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
	opt := find.Options{HeadMM: 28, Side: measure.Right, Spacing: scene.Spacing}
	hips, err := detect(t.Context(), f, f.Pixels, opt, find.Hips)
	require.NoError(t, err)
	dark := *f
	dark.Pixels, dark.Greys.Sign = f.Exchanged(f.Pixels), 1
	require.True(t, dark.BoneDark())
	again, err := detect(t.Context(), &dark, dark.Pixels, opt, find.Hips)
	require.NoError(t, err)
	require.Len(t, again, len(hips))
	require.InDelta(t, hips[0].Head.X, again[0].Head.X, 1e-6)
	require.InDelta(t, hips[0].Cup.R, again[0].Cup.R, 1e-6)

	h := hips[0]
	require.Same(t, f.Pixels, boneBright(f, f.Pixels, h.Head.Circle, h.Cup.Circle))
	require.Equal(t, f.Pixels, boneBright(&dark, dark.Pixels, h.Head.Circle, h.Cup.Circle))
	wrong := *f // the file is wrong: bone is bright
	wrong.Greys.Sign = 1
	require.Same(t, f.Pixels, boneBright(&wrong, f.Pixels, h.Head.Circle, h.Cup.Circle))
	require.Nil(t, boneBright(&dark, nil, h.Head.Circle, h.Cup.Circle))

	b := newBench(t)
	b.cfg.Open = func(path string) (*dicomio.Film, error) {
		g := dark
		g.Path, g.SHA256 = path, path
		return ready(&g)
	}
	b.cfg.Detect, b.cfg.Refine = find.Hips, find.Refine
	b.Add([]string{touch(t, t.TempDir(), "2004-02-01.dcm")})
	b.drain()
	patient := hip()
	patient.Side, patient.Implant.HeadMM = measure.Right, 28
	require.NoError(t, b.SetHip(patient))
	b.drain()
	film := b.Selected()
	require.Equal(t, Proposed, film.State(), film.Reason)
	require.InDelta(t, h.Head.X, film.Draft.Head.At.X, 1e-6)
	b.Nudge(2, 1)
	b.Refine()
	b.one()
	require.InDelta(t, h.Head.X, film.Draft.Head.At.X, 0.1, b.Notice())
	require.Contains(t, study.Texts(b.Numbers(film).Warnings), boneDarkWords)
}

// Only what the file says itself has a film searched twice, and the first refusal
// counts where both are.
func TestSearchedTwiceOnlyWhereTheFileSaysSo(t *testing.T) {
	f := &dicomio.Film{Pixels: image.NewGray16(image.Rect(0, 0, 4, 4)), Bits: 12, Photometric: "MONOCHROME2"}
	var seen []uint16
	look := func(fault error) func(context.Context, *image.Gray16, find.Options) ([]measure.Hip, error) {
		return func(_ context.Context, img *image.Gray16, _ find.Options) ([]measure.Hip, error) {
			seen = append(seen, img.Gray16At(1, 1).Y)
			if img == f.Pixels {
				return nil, fault
			}
			return nil, &measure.Refusal{Reason: "second"}
		}
	}
	refusal := &measure.Refusal{Reason: "first"}
	for _, c := range []struct {
		sign  int
		fault error
		want  []uint16
	}{
		{0, refusal, []uint16{0}},
		{-1, refusal, []uint16{0}},
		{1, refusal, []uint16{0, 4095}},
		{1, nil, []uint16{0}},
		{1, errors.New("stopped"), []uint16{0}},
	} {
		seen = nil
		f.Greys.Sign = c.sign
		_, err := detect(t.Context(), f, f.Pixels, find.Options{HeadMM: 28}, look(c.fault))
		require.Equal(t, c.fault, err)
		require.Equal(t, c.want, seen)
	}
	_, err := detect(t.Context(), nil, f.Pixels, find.Options{HeadMM: 28}, look(refusal))
	require.Equal(t, refusal, err, "of a film of which no file is known")
}

// Padding is no part of what is searched or looked at.
func TestReadyFilmHasBlackPadding(t *testing.T) {
	f := plain()
	f.Greys.Padding = &dicomio.Padding{Low: 5, High: 70000}
	got, err := ready(f)
	require.NoError(t, err)
	for i := 0; i < len(got.Pixels.Pix); i += 2 {
		require.LessOrEqual(t, int(got.Pixels.Pix[i])<<8|int(got.Pixels.Pix[i+1]), 4)
	}
}
