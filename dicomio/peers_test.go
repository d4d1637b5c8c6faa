package dicomio

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tool runs a program of another project. The test is skipped where it is not installed.
func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("%s is not installed: nothing is checked against it", name)
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s %v: %s", name, args, out)
	return string(out)
}

// What dcmtk and gdcm have encoded anew comes back bit for bit.
func TestFilmsEncodedByOthers(t *testing.T) {
	want := noise(40, 30, 12)
	for _, name := range []string{"dcmtk-explicit", "dcmtk-implicit", "dcmtk-big", "dcmtk-deflated",
		"dcmtk-rle", "dcmtk-lossless", "dcmtk-lossless-sv1", "dcmtk-fragments", "dcmtk-jpegls", "gdcm-jpeg2000"} {
		f, err := Open(filepath.Join("testdata", name+".dcm"))
		require.NoError(t, err)
		assert.Equal(t, want.Pixels, f.Pixels, name)
		assert.Equal(t, want.Geometry, f.Geometry, name)
		assert.Equal(t, want.Date, f.Date, name)
	}
}

// Pixels of 8 bits in words of 16, which big endian files turn round.
func TestNarrowPixelsInWords(t *testing.T) {
	le := binary.LittleEndian
	pix := []byte{1, 2, 3, 4, 5, 250}
	els := append([]el{text(0x00080016, "UI", digitalXRay), text(0x00080018, "UI", "2.25.1")}, image16(le, 2, 3, 8, 8, 7, 0, "MONOCHROME2")...)
	els = append(els, el{0x7FE00010, "OW", pix})
	from, to := file(t, "a.dcm", dicomFile(explicitLittle, dataSet(le, false, els...))), filepath.Join(t.TempDir(), "big.dcm")
	tool(t, "dcmconv", "+tb", from, to)
	for _, path := range []string{from, to} {
		f, err := Open(path)
		require.NoError(t, err)
		for i, v := range pix {
			assert.EqualValues(t, v, f.Pixels.Gray16At(i%3, i/3).Y, path)
		}
	}
}

// A film compressed with loss is decoded as dcmtk decodes it, and says so.
func TestLossyFilmEncodedByDCMTK(t *testing.T) {
	f, err := Open("testdata/dcmtk-jpeg12.dcm")
	require.NoError(t, err)
	want, err := Open("testdata/dcmtk-jpeg12-decoded.dcm")
	require.NoError(t, err)
	assert.Equal(t, want.Pixels, f.Pixels)
	assert.True(t, f.Lossy)
	assert.NotEqual(t, noise(40, 30, 12).Pixels, f.Pixels)
}

func TestDCMTKReadsWrittenFilm(t *testing.T) {
	film := noise(40, 30, 12)
	path := file(t, "a.dcm", encoded(t, film))
	assert.Equal(t, "yes: "+path+"\n", tool(t, "dcmftest", path))
	dump := tool(t, "dcmdump", path)
	for _, line := range []string{
		"UI =DigitalXRayImageStorageForPresentation", "(0010,0020) LO [LW-0007]", "(0008,0022) DA [20120304]",
		`(0018,1164) DS [0.15\0.15]`, "(0020,0062) CS [R]", "(0018,5101) CS [AP]", "(0018,1110) DS [1150]",
		"(0028,0010) US 40", "(0028,0011) US 30", "(0028,0101) US 12",
	} {
		assert.Contains(t, dump, line)
	}
	for _, warning := range []string{"W:", "E:"} {
		assert.NotContains(t, dump, warning)
	}
	raw := t.TempDir()
	tool(t, "dcmdump", "+W", raw, path)
	files, err := filepath.Glob(filepath.Join(raw, "*.raw"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	b, err := os.ReadFile(files[0])
	require.NoError(t, err)
	swap(b)
	assert.True(t, bytes.Equal(film.Pixels.Pix, b))
}

// python finds an interpreter that has pydicom, or skips the test.
func python(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(name, "-c", "import pydicom").Run() == nil {
			return name
		}
	}
	t.Skip("pydicom is not installed: nothing is checked against it")
	return ""
}

func TestPydicomReadsWrittenFilm(t *testing.T) {
	film := noise(40, 30, 12)
	path := file(t, "a.dcm", encoded(t, film))
	out := tool(t, python(t), "-c", `
import sys, pydicom
d = pydicom.dcmread(sys.argv[1])
print(d.Rows, d.Columns, d.PatientID, d.ImagerPixelSpacing, d.file_meta.TransferSyntaxUID.name)
print(d.PixelData.hex())`, path)
	lines := strings.Split(out, "\n")
	assert.Equal(t, "40 30 LW-0007 [0.15, 0.15] Explicit VR Little Endian", lines[0])
	b, err := hex.DecodeString(lines[1])
	require.NoError(t, err)
	swap(b)
	assert.True(t, bytes.Equal(film.Pixels.Pix, b))
}

// A real chest film from the test data of the parser library: read with its
// header, and the values as dcmtk reads them.
func TestRealChestFilm(t *testing.T) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/suyashkumar/dicom").Output()
	if err != nil {
		t.Skip("the go command does not find the parser library's test data")
	}
	path := filepath.Join(strings.TrimSpace(string(out)), "testdata", "4.dcm")
	f, err := Open(path)
	require.NoError(t, err)
	assert.Equal(t, []any{2140, 1760, "MONOCHROME1", "CR", 1}, []any{f.Rows, f.Columns, f.Photometric, f.Modality, f.Frames})
	assert.Equal(t, [2]float64{0.2, 0.2}, f.Geometry.Imager)
	raw := t.TempDir()
	tool(t, "dcmdump", "+W", raw, path)
	files, err := filepath.Glob(filepath.Join(raw, "*.raw"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	b, err := os.ReadFile(files[0])
	require.NoError(t, err)
	convert(b, 0, mask(f.Bits), f.flip())
	assert.True(t, bytes.Equal(b, f.Pixels.Pix))

	pgm := filepath.Join(raw, "a.pgm")
	tool(t, "dcm2pnm", "+Wi", "1", "+op", path, pgm)
	want, got := readPGM(t, pgm, f.Pixels.Rect), f.Display(nil).Pix
	worst := 0
	for i, v := range got {
		worst = max(worst, max(int(v)-int(want[i]), int(want[i])-int(v)))
	}
	assert.LessOrEqual(t, worst, 1, "levels of the first window")
}
