package batch

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image/png"
	"os"
	"path/filepath"
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
	measured := func(dpi float64) study.Measurement {
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
		ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: phantom.DefaultHip(measure.Right).HeadMM, Side: measure.Right}, nil)
		require.NoError(t, err)
		require.Len(t, ms, 1)
		return ms[0]
	}
	right := measured(25.4 / scene.Spacing)
	require.Equal(t, study.Measured, right.Status, study.NoteWords(right.Reason))
	require.Greater(t, right.Film.Facts.SpacingMM, 0.0)
	wrong := measured(300)
	require.Equal(t, study.Measured, wrong.Status, study.NoteWords(wrong.Reason))
	require.Zero(t, wrong.Film.Facts.SpacingMM)
	require.Contains(t, study.Texts(wrong.Warnings), "resolution of the PNG of 300 dpi (0.085 mm per pixel) does not fit a head of that diameter, "+
		"and without it one was found: it is taken for a program's default and not used")
}
