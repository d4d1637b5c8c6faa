package source

import (
	"bytes"
	"encoding/binary"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// several writes a file of frames of 4 x 3 pixels, the first grey 1, the second 2, and so on;
// els are encoded elements that stand before the rows.
func several(t *testing.T, path string, frames int, els ...byte) {
	t.Helper()
	img := image.NewGray16(image.Rect(0, 0, 4, 3))
	for i := 1; i < len(img.Pix); i += 2 {
		img.Pix[i] = 1
	}
	var b bytes.Buffer
	require.NoError(t, dicomio.Write(&b, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2", PatientCode: "Q7",
		View: "AP", Geometry: dicomio.Geometry{Imager: [2]float64{0.15, 0.15}}}))
	out := b.Bytes()
	at := bytes.Index(out, []byte("\x28\x00\x10\x00US"))
	number := append([]byte("\x28\x00\x08\x00IS\x02\x00"), byte('0'+frames), ' ')
	out = bytes.Join([][]byte{out[:at], number, out[at:]}, nil)
	at = bytes.Index(out, []byte("\x20\x00\x0D\x00UI"))
	out = bytes.Join([][]byte{out[:at], els, out[at:]}, nil)
	size := 2 * 4 * 3
	binary.LittleEndian.PutUint32(out[len(out)-size-4:], uint32(frames*size))
	for n := 1; n < frames; n++ {
		for range 4 * 3 {
			out = binary.LittleEndian.AppendUint16(out, uint16(n+1))
		}
	}
	require.NoError(t, os.WriteFile(path, out, 0o600))
}

// Each frame is a film: its own name, picture and identity.
func TestEveryFrameIsAFilm(t *testing.T) {
	t.Chdir(t.TempDir())
	several(t, "a.dcm", 3)
	several(t, "b.dcm", 1)
	files := Films([]string{"."})
	require.Equal(t, []File{{Path: "a.dcm#1"}, {Path: "a.dcm#2"}, {Path: "a.dcm#3"}, {Path: "b.dcm"}}, files)
	ids := map[string]bool{}
	for n, file := range files[:3] {
		f, err := Open(file.Path, time.Now())
		require.NoError(t, err)
		require.Equal(t, n+1, f.Stored(0, 0))
		kept := FilmOf(f)
		require.Equal(t, file.Path, kept.Path)
		require.Equal(t, filepath.Base(file.Path), kept.Name())
		require.Equal(t, f.PixelKey(), kept.ID)
		require.Equal(t, kept.ID, kept.Facts.SHA256)
		ids[kept.ID] = true
	}
	require.Len(t, ids, 3)
	require.Equal(t, "a.dcm", FileOf("a.dcm#3"))
	require.Equal(t, []File{{Path: "a.dcm#2"}, {Path: "b.dcm#2"}}, Only([]string{"."}, 2))
	_, err := Open("b.dcm#2", time.Now())
	require.ErrorContains(t, err, "no frame 2 of 1")
	require.Equal(t, []File{{Path: "a.dcm#1"}, {Path: "b.dcm"}}, Only([]string{"."}, 1))

	// A file that is called so goes before, and what is no number is a name.
	several(t, "a.dcm#2", 1)
	require.Equal(t, "a.dcm#2", FileOf("a.dcm#2"))
	for _, name := range []string{"x#", "x#0", "x#01", "x#-1", "x#two", "#2"} {
		require.Equal(t, name, FileOf(name))
	}
}

// Frames that follow each other in time are no films: one is read, and it is said.
func TestMovingFramesAreNoFilms(t *testing.T) {
	t.Chdir(t.TempDir())
	several(t, "a.dcm", 3, []byte("\x18\x00\x63\x10DS\x02\x0033")...)
	require.Equal(t, []File{{Path: "a.dcm"}}, Films([]string{"a.dcm"}))
	f, err := Open("a.dcm", time.Now())
	require.NoError(t, err)
	require.Len(t, f.Warnings, 1)
	require.Equal(t, "3 frames of a moving picture or of slices: of them, frame 1 is read", f.Warnings[0].Error())
	require.NotEqual(t, f.PixelKey(), f.SHA256, "the hash of the file")
	f, err = Open("a.dcm#3", time.Now())
	require.NoError(t, err)
	require.Equal(t, 3, f.Stored(0, 0))
}
