package batch

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

// A film of which the file shows bone dark, and says so, is searched as the same film
// with bone bright.
func TestFilmOfDarkBoneIsSearched(t *testing.T) {
	scene := phantom.Plain(measure.Right).Around(measure.Right, 100)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	f := &dicomio.Film{Pixels: img, Bits: scene.Bits, Photometric: "MONOCHROME2",
		Geometry: dicomio.Geometry{Imager: [2]float64{scene.Spacing, scene.Spacing}}}
	opt := find.Options{HeadMM: 28, Side: measure.Right, Spacing: scene.Spacing}
	hips, err := Search(t.Context(), f, f.Pixels, opt, find.Hips)
	require.NoError(t, err)
	dark := *f
	dark.Pixels, dark.Greys.Sign = f.Exchanged(f.Pixels), 1
	require.True(t, dark.BoneDark())
	again, err := Search(t.Context(), &dark, dark.Pixels, opt, find.Hips)
	require.NoError(t, err)
	require.Len(t, again, len(hips))
	require.InDelta(t, hips[0].Head.X, again[0].Head.X, 1e-6)
	require.InDelta(t, hips[0].Cup.R, again[0].Cup.R, 1e-6)

	h := hips[0]
	require.Same(t, f.Pixels, BoneBright(f, f.Pixels, h.Head.Circle, h.Cup.Circle))
	require.Equal(t, f.Pixels, BoneBright(&dark, dark.Pixels, h.Head.Circle, h.Cup.Circle))
	wrong := *f // the file is wrong: bone is bright
	wrong.Greys.Sign = 1
	require.Same(t, f.Pixels, BoneBright(&wrong, f.Pixels, h.Head.Circle, h.Cup.Circle))
	require.Nil(t, BoneBright(&dark, nil, h.Head.Circle, h.Cup.Circle))
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
			return nil, &measure.Refusal{Reason: study.Note{Text: "second"}}
		}
	}
	refusal := &measure.Refusal{Reason: study.Note{Text: "first"}}
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
		_, err := Search(t.Context(), f, f.Pixels, find.Options{HeadMM: 28}, look(c.fault))
		require.Equal(t, c.fault, err)
		require.Equal(t, c.want, seen)
	}
	_, err := Search(t.Context(), nil, f.Pixels, find.Options{HeadMM: 28}, look(refusal))
	require.Equal(t, refusal, err, "of a film of which no file is known")
}
