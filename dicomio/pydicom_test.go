package dicomio

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"errors"
	"maps"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// pydicomPixels prints what pydicom makes of every file under a folder, one JSON
// object a line: the hash of each frame's values as 32-bit numbers, or why there
// is no picture. Its own reading leaves bits above those stored in the values;
// they are taken off (PS3.5 section 8.1.1).
const pydicomPixels = `
import hashlib, json, os, sys, warnings
import numpy, pydicom
warnings.simplefilter("ignore")
for folder, _, names in os.walk(sys.argv[1]):
    for name in sorted(names):
        if name.endswith((".py", ".pyc", ".txt", ".json", ".dump", ".gz")) or name == "README":
            continue
        path = os.path.join(folder, name)
        one = {"file": os.path.relpath(path, sys.argv[1])}
        try:
            d = pydicom.dcmread(path, force=True)
            a = d.pixel_array.astype("<i4")
            one["samples"] = d.SamplesPerPixel
            if d.SamplesPerPixel == 1:
                if a.ndim == 2:
                    a = a[numpy.newaxis]
                if d.BitsStored < d.BitsAllocated and not d.PixelRepresentation and a.min() >= 0:
                    a = a >> (d.HighBit + 1 - d.BitsStored) & (1 << d.BitsStored) - 1
                one["rows"], one["columns"] = a.shape[1:]
                one["frames"] = [hashlib.sha256(f.tobytes()).hexdigest() for f in a]
        except Exception as e:
            one["none"] = type(e).__name__
        print(json.dumps(one))
`

// pydicomFile is a line of it.
type pydicomFile struct {
	File          string
	Samples       int
	Rows, Columns int
	Frames        []string
	None          string
}

// pydicom finds an interpreter that has pydicom and what it needs to decode
// pixels of every transfer syntax, or skips the test.
func pydicom(t *testing.T) string {
	t.Helper()
	name := python(t)
	if exec.Command(name, "-c", "import numpy, gdcm").Run() != nil {
		t.Skip("numpy or gdcm is not there for pydicom: no pixels are checked against it")
	}
	return name
}

// readByPydicom is what pydicom makes of the files under a folder.
func readByPydicom(t *testing.T, folder string) (files []pydicomFile) {
	t.Helper()
	out, err := exec.Command(pydicom(t), "-c", pydicomPixels, folder).Output() // what gdcm complains of is not read
	require.NoError(t, err)
	for line := range strings.Lines(string(out)) {
		var one pydicomFile
		require.NoError(t, json.Unmarshal([]byte(line), &one))
		files = append(files, one)
	}
	return files
}

// sum is the hash of a film's stored values as 32-bit numbers.
func (f *Film) sum() string {
	h := sha256.New()
	var b []byte
	for y := range f.Rows {
		b = b[:0]
		for x := range f.Columns {
			b = binary.LittleEndian.AppendUint32(b, uint32(f.Stored(x, y)))
		}
		h.Write(b)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// requireFrames compares every frame of a film with pydicom's.
func requireFrames(t *testing.T, path string, want pydicomFile) {
	t.Helper()
	for i, sum := range want.Frames {
		f, err := OpenFrame(path, i+1)
		require.NoError(t, err)
		require.Equal(t, []int{want.Rows, want.Columns, len(want.Frames)}, []int{f.Rows, f.Columns, f.Frames})
		assert.Equal(t, sum, f.sum(), "frame %d", i+1)
	}
}

// Pictures of one sample per pixel that pydicom reads and this package does not,
// and why.
var refusedOfPydicom = map[string]string{
	"liver_1frame.dcm":                         "1 bits allocated per pixel", // a mask of organs, not a film
	"liver_expb_1frame.dcm":                    "1 bits allocated per pixel",
	"rtdose.dcm":                               "32 bits allocated per pixel", // doses, not films
	"rtdose_1frame.dcm":                        "32 bits allocated per pixel",
	"rtdose_expb.dcm":                          "32 bits allocated per pixel",
	"rtdose_expb_1frame.dcm":                   "32 bits allocated per pixel",
	"rtdose_rle.dcm":                           "32 bits allocated per pixel",
	"rtdose_rle_1frame.dcm":                    "32 bits allocated per pixel",
	"JPEG2000-embedded-sequence-delimiter.dcm": "reference grid of 3722445056", // 4 bytes of the size are overwritten; what pydicom gives is what the memory held
}

// Every picture of one sample per pixel that pydicom reads among its own test
// files is read with pydicom's values, frame by frame, or refused for a reason in
// the table. All else is refused.
func TestPydicomFiles(t *testing.T) {
	dir := strings.TrimSpace(tool(t, pydicom(t), "-c", "import os, pydicom.data; print(os.path.dirname(pydicom.data.__file__))"))
	dir = filepath.Join(dir, "test_files")
	files := readByPydicom(t, dir)
	if len(files) == 0 {
		t.Skip("pydicom's test files are not installed: nothing is checked against them")
	}
	read, reasons := 0, maps.Clone(refusedOfPydicom)
	for _, want := range files {
		path := filepath.Join(dir, want.File)
		t.Run(want.File, func(t *testing.T) {
			says, refused := reasons[want.File]
			delete(reasons, want.File)
			if want.Samples == 1 && !refused {
				requireFrames(t, path, want)
				read++
				return
			}
			if want.Samples > 1 {
				says = "colour"
			}
			requireRefused(t, path, says)
		})
	}
	assert.Empty(t, reasons, "reasons without a file")
	t.Logf("%d grey pictures of pydicom's read, %d refused by name; %d files in all", read, len(refusedOfPydicom)-len(reasons), len(files))
}

// requireRefused wants one line that says so, as a fault of one of the two kinds.
func requireRefused(t *testing.T, path, says string) {
	t.Helper()
	_, err := Open(path)
	require.Error(t, err)
	kind := ErrMalformed
	if !errors.Is(err, kind) {
		kind = ErrUnsupported
	}
	requireFault(t, path, err, kind)
	assert.ErrorContains(t, err, says)
}

// Among pydicom's files there is no grey film of 8 or 16 bits with several
// frames. This one is made here, and compressed by others.
func TestPydicomFrames(t *testing.T) {
	le := binary.LittleEndian
	els := []el{text(0x00080016, "UI", digitalXRay), text(0x00080018, "UI", "2.25.1"), text(0x00280008, "IS", "3")}
	els = append(els, image16(le, 40, 30, 16, 12, 11, 0, "MONOCHROME2")...)
	var pix []byte
	for n := range 3 {
		f := noise(40, 30, 12)
		for i := range 10 {
			f.Pixels.Pix[2*i+1] = byte(n) // so that no frame is another's
		}
		pix = append(pix, f.stored(le)...)
	}
	els = append(els, el{0x7FE00010, "OW", pix})
	native := file(t, "native.dcm", dicomFile(explicitLittle, dataSet(le, false, els...)))
	dir := filepath.Dir(native)
	for _, made := range [][]string{
		{"dcmconv", "+tb"}, {"dcmcrle"}, {"dcmcjpeg", "+e1"}, {"dcmcjpls"}, {"gdcmconv", "--j2k"}, {"gdcmconv", "--jpegls"}, {"dcmcjpeg", "+ee"},
	} {
		tool(t, made[0], append(made[1:], native, filepath.Join(dir, strings.Join(made, "")+".dcm"))...)
	}
	files := readByPydicom(t, dir)
	require.Len(t, files, 8)
	for _, want := range files {
		t.Run(want.File, func(t *testing.T) {
			require.Len(t, want.Frames, 3, want.None)
			require.NotEqual(t, want.Frames[0], want.Frames[2])
			requireFrames(t, filepath.Join(dir, want.File), want)
		})
	}
}
