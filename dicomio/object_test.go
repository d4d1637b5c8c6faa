package dicomio_test

import (
	"bytes"
	"image"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio"
)

// smallFilm writes a film of one patient and day.
func smallFilm(t *testing.T, path string) {
	t.Helper()
	img := image.NewGray16(image.Rect(0, 0, 8, 6))
	img.Pix[1] = 7
	require.NoError(t, dicomio.WriteFile(path, &dicomio.Film{Pixels: img, Bits: 12, Photometric: "MONOCHROME2",
		PatientCode: "Q7", Date: time.Date(2012, 3, 4, 0, 0, 0, 0, time.UTC)}))
}

func TestObjectOf(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.dcm")
	smallFilm(t, path)
	o, start, err := dicomio.ObjectOf(path)
	require.NoError(t, err)
	require.Equal(t, "1.2.840.10008.5.1.4.1.1.1.1", o.Class)
	require.Equal(t, "1.2.840.10008.1.2.1", o.Syntax)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, data[:start], o.Meta(), "what is written is what was read")
	v, err := dicomio.ReadValues(data[start:], o.Syntax)
	require.NoError(t, err)
	require.Equal(t, o.Instance, v[0x00080018])
	require.Equal(t, "Q7", v[0x00100020])
	require.Equal(t, "6", v[0x00280010], "numbers in decimals")
	require.NotContains(t, v, uint32(0x00540220), "sequences are left out")

	for name, bad := range map[string][]byte{
		"no preamble": data[132:], "no meta": append(bytes.Clone(data[:132]), data[start:]...), "cut": data[:200],
	} {
		require.NoError(t, os.WriteFile(path, bad, 0o600))
		_, _, err := dicomio.ObjectOf(path)
		require.Error(t, err, name)
		require.NotContains(t, err.Error(), "\n", name)
	}
}

// Texts, padding and numbers come back as they were, explicit and implicit.
func TestValues(t *testing.T) {
	v := dicomio.Values{0x00080005: "ISO_IR 192", 0x00080020: "20120304-20130304", 0x00080018: `1.2.3\1.2.4`,
		0x00080052: "STUDY", 0x00100010: "Ærø^Þ", 0x00100020: "Q7", 0x00201209: "", 0x00200011: "3"}
	for _, syntax := range []string{"1.2.840.10008.1.2", "1.2.840.10008.1.2.1"} {
		b, err := v.Bytes(syntax)
		require.NoError(t, err)
		require.Zero(t, len(b)%2)
		back, err := dicomio.ReadValues(b, syntax)
		require.NoError(t, err)
		require.Equal(t, v, back)
		for n := range len(b) {
			_, _ = dicomio.ReadValues(b[:n], syntax) // no part of it panics
		}
	}
	latin := []byte("\x08\x00\x05\x00CS\x0a\x00ISO_IR 100\x10\x00\x10\x00PN\x04\x00B\xe4r ")
	back, err := dicomio.ReadValues(latin, "1.2.840.10008.1.2.1")
	require.NoError(t, err)
	require.Equal(t, "Bär", back[0x00100010])

	_, err = dicomio.Values{0x00280010: "3"}.Bytes("1.2.840.10008.1.2")
	require.ErrorContains(t, err, "not written as text")
	_, err = dicomio.Values{0x00080018: strings.Repeat("1.2\\", 20000)}.Bytes("1.2.840.10008.1.2")
	require.ErrorContains(t, err, "65534")
}

func TestReadableBeginsUncompressed(t *testing.T) {
	list := dicomio.Readable()
	require.Equal(t, "1.2.840.10008.1.2", list[0])
	require.Contains(t, list, "1.2.840.10008.1.2.4.70")
	require.NotContains(t, list, "1.2.840.10008.1.2.4.102", "a video")
}
