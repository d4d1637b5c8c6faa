package batch

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// A picture whose resolution is that of a program and not of the film is measured without it, and
// that is said.
func TestResolutionOfAProgram(t *testing.T) {
	scene := phantom.Plain(measure.Right)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, img))
	measured := func(dpi float64, opt MeasureOptions) study.Measurement {
		chunk := []byte("pHYs")
		perMetre := uint32(dpi/0.0254 + 0.5)
		chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
		chunk = append(binary.BigEndian.AppendUint32(chunk, perMetre), 1)
		const head = 8 + 25 // signature and IHDR
		out := append([]byte{}, b.Bytes()[:head]...)
		out = binary.BigEndian.AppendUint32(out, 9)
		out = binary.BigEndian.AppendUint32(append(out, chunk...), crc32.ChecksumIEEE(chunk))
		path := filepath.Join(t.TempDir(), "a.png")
		require.NoError(t, os.WriteFile(path, append(out, b.Bytes()[head:]...), 0o600))
		opt.Side = measure.Right
		ms, err := Measure(t.Context(), []string{path}, opt, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		return ms[0]
	}
	head := phantom.DefaultHip(measure.Right).HeadMM
	right := measured(25.4/scene.Spacing, MeasureOptions{HeadMM: head})
	require.Equal(t, study.Measured, right.Status, study.NoteWords(right.Reason))
	require.Greater(t, right.Film.Facts.SpacingMM, 0.0)
	wrong := measured(300, MeasureOptions{HeadMM: head})
	require.Equal(t, study.Measured, wrong.Status, study.NoteWords(wrong.Reason))
	require.Zero(t, wrong.Film.Facts.SpacingMM)
	require.Contains(t, study.Texts(wrong.Warnings), "resolution of the PNG of 300 dpi (0.085 mm per pixel) does not fit a head of that diameter, "+
		"and without it one was found: it is taken for a program's default and not used")

	// Asked for, it is left out before anything is looked for, and that is said.
	aside := measured(25.4/scene.Spacing, MeasureOptions{HeadMM: head, Unscanned: true})
	require.Equal(t, study.Measured, aside.Status, study.NoteWords(aside.Reason))
	require.Zero(t, aside.Film.Facts.SpacingMM)
	require.Contains(t, strings.Join(study.Texts(aside.Warnings), "\n"), "is set aside, as was asked for")

	// Where nothing is found either way the resolution is named.
	scene.Hips = nil
	img, err = phantom.Render(scene)
	require.NoError(t, err)
	b.Reset()
	require.NoError(t, png.Encode(&b, img))
	none := measured(300, MeasureOptions{HeadMM: head})
	require.Equal(t, study.Refused, none.Status)
	require.Contains(t, study.NoteWords(none.Reason), ", neither by the resolution of the PNG of 300 dpi (0.085 mm per pixel) nor without it")
}

// A picture that tells nothing of its greys and has them exchanged is found as one, and that
// is said; the outlines are those of the picture as it should be.
func TestUntaggedNegative(t *testing.T) {
	scene := phantom.Plain(measure.Right)
	img, err := phantom.Render(scene)
	require.NoError(t, err)
	opt := MeasureOptions{HeadMM: phantom.DefaultHip(measure.Right).HeadMM, Side: measure.Right}
	measured := func() study.Measurement {
		path := filepath.Join(t.TempDir(), "a.png")
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, img))
		require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
		ms, err := Measure(t.Context(), []string{path}, opt, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		require.Equal(t, study.Measured, ms[0].Status, study.NoteWords(ms[0].Reason))
		return ms[0]
	}
	want := measured()
	for i := range img.Pix {
		img.Pix[i] ^= 0xFF
	}
	got := measured()
	require.InDelta(t, want.Head.X, got.Head.X, 0.05)
	require.InDelta(t, want.Cup.Y, got.Cup.Y, 0.05)
	const says = "black and white seem to be exchanged in this picture"
	require.Contains(t, strings.Join(study.Texts(got.Warnings), "\n"), says)
	require.NotContains(t, strings.Join(study.Texts(want.Warnings), "\n"), says)
}
