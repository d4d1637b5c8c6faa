package dicomio

import (
	"bytes"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDICOMDIR(t *testing.T) {
	b, err := os.ReadFile("testdata/dcmtk.dicomdir")
	require.NoError(t, err)
	film := encoded(t, noise(2, 2, 12))
	dir := folder(t, map[string][]byte{"DICOMDIR": b, "FILMS/A1": film, "films/a2": film, "FILMS/OTHER": film})
	got, err := Expand([]string{filepath.Join(dir, "DICOMDIR")})
	require.NoError(t, err)
	assert.Equal(t, []string{filepath.Join(dir, "films/a2"), filepath.Join(dir, "FILMS/A1")}, got)
	_, err = Open(filepath.Join(dir, "DICOMDIR"))
	assert.ErrorContains(t, err, "a DICOMDIR, not a film; open the folder it stands in")

	for name, c := range map[string]struct {
		b    []byte
		says string
	}{
		"cut":         {b[:len(b)-60], "DICOMDIR: malformed: "},
		"empty":       {nil, "the file is empty"},
		"not DICOM":   {[]byte("FILMS/A1"), "not a DICOMDIR"},
		"no images":   {dicomFile(explicitLittle, dataSet(binary.LittleEndian, false, text(0x00041200, "UL", "\x00\x00\x00\x00"))), "no films in this DICOMDIR"},
		"out of it":   {replaced(t, b, `FILMS\A1`, `..\..\AB`), `refers to "..\\..\\AB"`},
		"not a name":  {replaced(t, b, `FILMS\A1`, `FILMS\\1`), "refers to"},
		"slash in it": {replaced(t, b, `FILMS\A1`, `/ETC\AB1`), "refers to"},
	} {
		t.Run(name, func(t *testing.T) {
			path := file(t, "DICOMDIR", c.b)
			_, err := Expand([]string{path})
			assert.ErrorContains(t, err, c.says)
			assert.NotContains(t, err.Error(), "\n")
		})
	}
}

func replaced(t *testing.T, b []byte, from, to string) []byte {
	t.Helper()
	require.Len(t, to, len(from))
	require.True(t, bytes.Contains(b, []byte(from)))
	return bytes.Replace(b, []byte(from), []byte(to), 1)
}
