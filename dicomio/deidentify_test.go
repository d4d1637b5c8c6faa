package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/suyashkumar/dicom/pkg/tag"
)

var secret = []byte("a key of 32 bytes for these tests")

// identifying is a film that says who it is of wherever a film can, and the
// texts that must not be found any more.
func identifying(order binary.AppendByteOrder, implicit bool, patient, study string) (set []byte, marks []string) {
	n := 0
	mark := func() string {
		n++
		marks = append(marks, fmt.Sprintf("MARK%02dQ", n))
		return marks[n-1]
	}
	uid := func(s string) string {
		marks = append(marks, s)
		return s
	}
	lo := func(tag uint32, vr string) el { return text(tag, vr, mark()) }
	sequence := func(tag uint32, els ...el) el {
		inner := dataSet(order, implicit, els...)
		b := order.AppendUint16(order.AppendUint16(nil, 0xFFFE), 0xE000)
		return el{tag, "SQ", append(order.AppendUint32(b, uint32(len(inner))), inner...)}
	}
	marks = append(marks, patient, study, "19520229", "20040504", "20040505", "101112")
	els := []el{
		text(0x00080008, "CS", `ORIGINAL\PRIMARY`), text(0x00080016, "UI", digitalXRay), text(0x00080018, "UI", uid("1.2.826.99.1")),
		text(0x00080020, "DA", study), text(0x00080022, "DA", "20040504"), text(0x0008002A, "DT", "20040505101112"),
		text(0x00080030, "TM", "101112"), lo(0x00080050, "SH"), text(0x00080060, "CS", "DX"), lo(0x00080070, "LO"), lo(0x00080080, "LO"), lo(0x00080090, "PN"),
		lo(0x00081010, "SH"), lo(0x00081030, "LO"), lo(0x00081070, "PN"),
		sequence(0x00081140, text(0x00081155, "UI", uid("1.2.826.99.2")), lo(0x00204000, "LT")),
		sequence(0x00082218, text(0x00080100, "SH", "T-D6000"), text(0x00080102, "SH", "SRT"), text(0x00080104, "LO", "Pelvis"), lo(0x0008010D, "UI")),
		lo(0x00091001, "LO"), sequence(0x00091002, lo(0x00100010, "PN")),
		lo(0x00100010, "PN"), text(0x00100020, "LO", patient), text(0x00100030, "DA", "19520229"), text(0x00100040, "CS", "F"),
		sequence(0x00101002, lo(0x00100020, "LO")), text(0x00101010, "AS", "052Y"), text(0x00101020, "DS", "1.71"), lo(0x00104000, "LT"),
		text(0x00180015, "CS", "PELVIS"), lo(0x00181000, "LO"), lo(0x00181030, "LO"), text(0x00181110, "DS", "1150"), text(0x00181114, "DS", "1.15"),
		text(0x00181164, "DS", `0.15\0.15`), text(0x00185101, "CS", "AP"), lo(0x0018700A, "SH"),
		text(0x0020000D, "UI", uid("1.2.826.99.3")), text(0x0020000E, "UI", uid("1.2.826.99.4")), lo(0x00200010, "SH"),
		text(0x00200011, "IS", "3"), text(0x00200062, "CS", "R"), lo(0x00204000, "LT"),
	}
	els = append(els, image16(order, 20, 30, 16, 12, 11, 0, "MONOCHROME2")...)
	els = append(els,
		text(0x00280301, "CS", "YES"), lo(0x00281055, "LO"), text(0x00281057, "CS", "x"), lo(0x00324000, "LT"),
		sequence(0x00400275, lo(0x00400007, "LO")), lo(0x50000022, "LO"), lo(0x60000022, "LO"))
	slices.SortStableFunc(els, func(a, b el) int { return int(int64(a.tag) - int64(b.tag)) })
	var pix []byte
	for i := range 600 {
		pix = order.AppendUint16(pix, uint16(i)|0xA000) // bits above those stored
	}
	els = append(els, el{0x7FE00010, "OW", append(pix, mark()+"."...)}, el{0xFFFCFFFC, "OB", []byte(mark())})
	return dataSet(order, implicit, els...), marks
}

// requireGone looks for texts in bytes, as ASCII and as UTF-16 of both orders.
func requireGone(t *testing.T, b []byte, marks []string) {
	t.Helper()
	for _, m := range marks {
		require.False(t, bytes.Contains(b, []byte(m)), "%s is still there", m)
		for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
			var wide []byte
			for _, u := range utf16.Encode([]rune(m)) {
				wide = order.AppendUint16(wide, u)
			}
			require.False(t, bytes.Contains(b, wide), "%s is still there in UTF-16", m)
		}
	}
}

func TestDeidentify(t *testing.T) {
	for name, c := range map[string]struct {
		order    binary.AppendByteOrder
		implicit bool
		syntax   string
	}{
		"explicit": {binary.LittleEndian, false, explicitLittle},
		"implicit": {binary.LittleEndian, true, implicitLittle},
		"big":      {binary.BigEndian, false, explicitBig},
	} {
		for _, characteristics := range []bool{false, true} {
			t.Run(fmt.Sprint(name, characteristics), func(t *testing.T) {
				set, marks := identifying(c.order, c.implicit, "HOSP-77123", "20040503")
				b := dicomFile(c.syntax, set)
				copy(b, "MARKPREAMBLE")
				from, to := file(t, "in.dcm", b), filepath.Join(t.TempDir(), "out.dcm")
				d, err := NewDeidentifier(secret)
				require.NoError(t, err)
				d.KeepCharacteristics = characteristics
				done, err := d.File(from, to)
				require.NoError(t, err)
				out, err := os.ReadFile(to)
				require.NoError(t, err)
				requireGone(t, out, append(marks, "MARK"))
				assert.Equal(t, make([]byte, preamble), out[:preamble])
				assert.Equal(t, characteristics, bytes.Contains(out, []byte("052Y")))
				require.Len(t, done.Warnings, 1)
				assert.Equal(t, "identity.burned-in", done.Warnings[0].Code)

				was, err := Open(from)
				require.NoError(t, err)
				is, err := Open(to)
				require.NoError(t, err)
				assert.Equal(t, was.Pixels, is.Pixels)
				assert.Equal(t, was.Geometry, is.Geometry)
				assert.Equal(t, []string{"R", "AP", "DX", done.Code}, []string{is.Laterality, is.View, is.Modality, is.PatientCode})
				assert.True(t, is.Date.Before(was.Date))
				assert.Contains(t, string(out), "Pelvis")
			})
		}
	}
}

// The films of one patient stay together, days apart as they were; those of
// another patient, or with another key, do not.
func TestDeidentifySeries(t *testing.T) {
	run := func(key []byte, patient, study string) *Film {
		set, _ := identifying(binary.LittleEndian, false, patient, study)
		d, err := NewDeidentifier(key)
		require.NoError(t, err)
		out, _, err := d.film(dicomFile(explicitLittle, bytes.ReplaceAll(set, []byte("20040504"), []byte(study))))
		require.NoError(t, err)
		f, err := decode(out)
		require.NoError(t, err)
		return f
	}
	a, b := run(secret, "HOSP-77123", "20040228"), run(secret, "HOSP-77123", "20140301")
	assert.Equal(t, a.PatientCode, b.PatientCode)
	assert.Equal(t, 3654*24*time.Hour, b.Date.Sub(a.Date)) // 10 years, three leap days, and 2 days
	other, rekeyed := run(secret, "HOSP-77124", "20040228"), run([]byte("another key of 32 bytes or so..."), "HOSP-77123", "20040228")
	assert.NotEqual(t, a.PatientCode, other.PatientCode)
	assert.NotEqual(t, a.Date, other.Date)
	assert.NotEqual(t, a.PatientCode, rekeyed.PatientCode)
}

func TestDeidentifyBlacksOut(t *testing.T) {
	for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
		f := noise(20, 30, 12)
		f.Photometric, f.BurnedIn = photometric, "YES"
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		d.Black = []image.Rectangle{image.Rect(20, 15, 99, 99), image.Rect(-5, -5, 2, 1)}
		out, done, err := d.film(encoded(t, f))
		require.NoError(t, err)
		assert.Equal(t, []string{"parts were made black: look whether text is left, and state it if there is none"}, said(done.Warnings))
		got, err := decode(out)
		require.NoError(t, err)
		assert.Equal(t, "YES", got.BurnedIn, "nobody has said otherwise")
		assert.NotContains(t, string(out), "113101")
		for y := range 20 {
			for x := range 30 {
				want := f.Pixels.Gray16At(x, y)
				if x >= 20 && y >= 15 || x < 2 && y < 1 {
					want.Y = 0
				}
				assert.Equal(t, want, got.Pixels.Gray16At(x, y))
			}
		}
	}
}

// An archive keeps the first film of a UID: a copy with parts made black has one of its own,
// the same each time.
func TestBlackedCopyIsAnother(t *testing.T) {
	d, err := NewDeidentifier([]byte("a key of some length, for a test"))
	require.NoError(t, err)
	uid := func(black ...image.Rectangle) string {
		d.Black = black
		out, _, err := d.film(encoded(t, noise(8, 9, 12)))
		require.NoError(t, err)
		h, err := parseHeader(out, len(out))
		require.NoError(t, err)
		return h.str(tag.SOPInstanceUID)
	}
	whole, part := uid(), uid(image.Rect(0, 0, 3, 3))
	require.NotEqual(t, whole, part)
	require.Equal(t, part, uid(image.Rect(0, 0, 3, 3)))
	require.NotEqual(t, part, uid(image.Rect(0, 0, 3, 4)))
	require.Equal(t, whole, uid())
}

// Only a person can say that no text is left.
func TestDeidentifyNoTextLeft(t *testing.T) {
	f := noise(20, 30, 12)
	f.BurnedIn = "YES"
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	d.NoTextLeft = true
	out, done, err := d.film(encoded(t, f))
	require.NoError(t, err)
	assert.Empty(t, done.Warnings)
	assert.Contains(t, string(out), "113101")
	got, err := decode(out)
	require.NoError(t, err)
	assert.Equal(t, "NO", got.BurnedIn)
	assert.Equal(t, f.Pixels, got.Pixels)
}

// What a film says of its burned-in text is not passed on as seen: where nobody has looked it is
// left out, or YES of objects that have to say one (PS3.3 C.8.11.3), and where what looks like text
// is left no copy says NO.
func TestBurnedInAnnotationIsNotPassedOn(t *testing.T) {
	lettered := noise(400, 600, 12)
	clear(lettered.Pixels.Pix)
	mark := func(x int) {
		for y := 190; y < 203; y++ {
			for _, at := range []int{x, x + 5} {
				lettered.Pixels.SetGray16(at, y, color.Gray16{Y: 4095})
			}
		}
		for dx := range 5 {
			lettered.Pixels.SetGray16(x+dx, 196, color.Gray16{Y: 4095})
		}
	}
	for i := range 12 { // a row of H in the middle
		mark(250 + 9*i)
	}
	require.NotEmpty(t, lettered.Letters())
	for name, c := range map[string]struct {
		film          *Film
		looked, black bool
		want          string
	}{
		"nobody looked":             {noise(20, 30, 12), false, false, "YES"},
		"looked, none":              {noise(20, 30, 12), true, false, "NO"},
		"looked, text":              {lettered, true, false, "YES"},
		"looked, text black":        {lettered, true, true, "NO"},
		"nobody looked, text black": {lettered, false, true, "YES"},
	} {
		c.film.BurnedIn = "NO"
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		d.NoTextLeft, d.BlackText = c.looked, c.black
		out, done, err := d.film(encoded(t, c.film))
		require.NoError(t, err)
		got, err := decode(out)
		require.NoError(t, err)
		assert.Equal(t, c.want, got.BurnedIn, name)
		assert.Equal(t, c.want == "NO", strings.Contains(string(out), "113101"), name)
		if c.want == "YES" {
			assert.NotEmpty(t, done.Warnings, name)
		}
	}
}

// The comment of a codestream goes too, and the pixels stay.
func TestDeidentifyCompressed(t *testing.T) {
	for _, name := range []string{"rle", "lossless", "jpegls", "deflated", "fragments", "implicit", "big"} {
		b, err := os.ReadFile("testdata/dcmtk-" + name + ".dcm")
		require.NoError(t, err)
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		out, _, err := d.film(b)
		require.NoError(t, err)
		requireGone(t, out, []string{"LW-0007", "20120304", "JFIF"})
		f, err := decode(out)
		require.NoError(t, err)
		assert.Equal(t, noise(40, 30, 12).Pixels, f.Pixels, name)
	}
}

func TestDeidentifyRefuses(t *testing.T) {
	_, err := NewDeidentifier([]byte("short"))
	assert.EqualError(t, err, "key of 5 bytes; at least 16 are needed")
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	dir := t.TempDir()
	out := filepath.Join(dir, "out.dcm")
	path := file(t, "a.png", encodedPNG(t, image.NewGray16(image.Rect(0, 0, 2, 2))))
	_, err = d.File(path, out)
	requireFault(t, path, err, ErrUnsupported)
	path = file(t, "a.dcm", ramp(8, "MONOCHROME2", 0))
	_, err = d.File(path, out)
	requireFault(t, path, err, ErrMalformed)
	assert.ErrorContains(t, err, "SOP Instance UID (0008,0018) is missing")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Empty(t, left)
	set, _ := identifying(binary.LittleEndian, false, "A", "20040503")
	path = file(t, "b.dcm", dicomFile(explicitLittle, set))
	_, err = d.File(path, filepath.Join(dir, "none", "out.dcm"))
	assert.ErrorContains(t, err, "none/out.dcm: no such file or directory")
}

// A value that is not what its type allows is left out, whatever it says.
func TestDeidentifyHiddenText(t *testing.T) {
	set, _ := identifying(binary.LittleEndian, false, "HOSP-1", "20040503")
	for from, to := range map[string]string{"PELVIS": "Ann L.", "1.15": "Ann.", "20040505101112": "Ann Lee, 101112", "SRT ": "ANN "} {
		require.True(t, bytes.Contains(set, []byte(from)), from)
		set = bytes.Replace(set, []byte(from), []byte(to)[:len(from)], 1)
	}
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	out, done, err := d.film(dicomFile(explicitLittle, set))
	require.NoError(t, err)
	requireGone(t, out, []string{"Ann", "ANN", "Pelvis"})
	assert.Len(t, done.Warnings, 5, strings.Join(said(done.Warnings), "\n"))
}

func TestPeersReadDeidentifiedFilm(t *testing.T) {
	set, marks := identifying(binary.LittleEndian, false, "HOSP-77123", "20040503")
	from, to := file(t, "in.dcm", dicomFile(explicitLittle, set)), filepath.Join(t.TempDir(), "out.dcm")
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	done, err := d.File(from, to)
	require.NoError(t, err)
	assert.Equal(t, "yes: "+to+"\n", tool(t, "dcmftest", to))
	dump := tool(t, "dcmdump", to)
	requireGone(t, []byte(dump), marks)
	for _, want := range []string{"[" + done.Code + "]", "(0012,0062) CS [YES]", "[113100]", "[113107]", "(0028,0303) CS [MODIFIED]", "[T-D6000]"} {
		assert.Contains(t, dump, want)
	}
	out := tool(t, python(t), "-c", "import sys, pydicom; d = pydicom.dcmread(sys.argv[1]); str(d); print(d.PatientID, d.Rows, len(d.PixelData))", to)
	assert.Equal(t, done.Code+" 20 1200\n", out)
}

func FuzzDeidentify(f *testing.F) {
	set, _ := identifying(binary.LittleEndian, false, "HOSP-77123", "20040503")
	f.Add(dicomFile(explicitLittle, set))
	for _, b := range seeds(f) {
		f.Add(b)
	}
	d, err := NewDeidentifier(secret)
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, b []byte) {
		out, _, err := d.film(b)
		if err != nil {
			return
		}
		_, err = decode(out)
		require.NoError(t, err)
	})
}

// Of pydicom's published test files that are films, nothing that tells who, when
// or where, as pydicom reads it, is left anywhere in the bytes.
func TestDeidentifyPydicomFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("many runs of other programs")
	}
	py := python(t)
	dir := strings.TrimSpace(tool(t, py, "-c", "import os, pydicom.data; print(os.path.dirname(pydicom.data.__file__))"))
	paths, err := filepath.Glob(filepath.Join(dir, "test_files", "*.dcm"))
	require.NoError(t, err)
	films := 0
	for _, path := range paths {
		if f, err := Open(path); err != nil || f.Frames > 1 {
			continue
		}
		d, err := NewDeidentifier(secret)
		require.NoError(t, err)
		to := filepath.Join(t.TempDir(), "out.dcm")
		_, err = d.File(path, to)
		require.NoError(t, err)
		b, err := os.ReadFile(to)
		require.NoError(t, err)
		said := tool(t, py, "-W", "ignore", "-c", `
import sys, pydicom
def say(ds):
    for e in ds:
        if e.VR == "SQ":
            for item in e.value: say(item)
        elif e.VR in ("PN", "LO", "SH", "UI", "DA", "TM", "DT", "ST", "LT", "UT", "AE"):
            for v in (e.value if e.VM > 1 else [e.value]):
                v = str(v)
                if len(v) > 5 and not v.startswith("1.2.840.10008."): print(v.encode("ascii", "replace").decode())
say(pydicom.dcmread(sys.argv[1]))`, path)
		marks := strings.Split(strings.TrimSpace(said), "\n")
		require.NotEmpty(t, marks)
		marks = slices.DeleteFunc(marks, func(m string) bool { return m == "WHOLE BODY" }) // also the body part, which is kept
		requireGone(t, b, marks)
		films++
	}
	t.Logf("%d films", films)
}
