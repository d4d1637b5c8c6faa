package batch

import (
	"image"
	"image/color"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/measure"
)

// convert runs a program of another project from one file to another. The test
// is skipped where it is not installed.
func convert(t *testing.T, from, to string, line ...string) {
	t.Helper()
	if _, err := exec.LookPath(line[0]); err != nil {
		t.Skipf("%s is not installed: nothing is checked against it", line[0])
	}
	said, err := exec.Command(line[0], append(line[1:len(line):len(line)], from, to)...).CombinedOutput()
	require.NoError(t, err, "%v: %s", line, said)
}

// A phantom film that dcmtk or gdcm has compressed comes back bit for bit, in
// every transfer syntax that is read. What a lossy one has lost is told by the
// decoder of the program that lost it: values are the same as its own, within one
// level for the wavelet of real numbers, whose rounding the standard leaves open
// (ITU-T T.800 annex F).
func TestCompressedPhantomFilms(t *testing.T) {
	if testing.Short() {
		t.Skip("many runs of other programs")
	}
	film := phantomFilm(t)
	eight := *film
	eight.Bits = 8
	eight.Pixels = shifted(film, film.Bits-8)
	dir := t.TempDir()
	native, native8 := filepath.Join(dir, "native.dcm"), filepath.Join(dir, "native8.dcm")
	require.NoError(t, dicomio.WriteFile(native, film))
	require.NoError(t, dicomio.WriteFile(native8, &eight))
	want := measureOne(t, native)
	for _, c := range []struct {
		syntax string // after 1.2.840.10008.1.2
		encode string
		decode string // where it is lossy
		within int
		from   *dicomio.Film
		read   bool // measured, too
	}{
		{syntax: ".1", encode: "dcmconv +te"},
		{syntax: "", encode: "dcmconv +ti"},
		{syntax: ".2", encode: "dcmconv +tb"},
		{syntax: ".1.99", encode: "dcmconv +td"},
		{syntax: ".5", encode: "dcmcrle", read: true},
		{syntax: ".5", encode: "gdcmconv --rle"},
		{syntax: ".4.57", encode: "dcmcjpeg +el +sv 6"},
		{syntax: ".4.70", encode: "dcmcjpeg +e1", read: true},
		{syntax: ".4.70", encode: "gdcmconv --jpeg"},
		{syntax: ".4.80", encode: "dcmcjpls", read: true},
		{syntax: ".4.80", encode: "gdcmconv --jpegls"},
		{syntax: ".4.90", encode: "gdcmconv --j2k", read: true},
		{syntax: ".5", encode: "dcmcrle", from: &eight},
		{syntax: ".4.70", encode: "dcmcjpeg +e1", from: &eight},
		{syntax: ".4.80", encode: "gdcmconv --jpegls", from: &eight},
		{syntax: ".4.90", encode: "gdcmconv --j2k", from: &eight},
		{syntax: ".4.50", encode: "dcmcjpeg +eb +q 95", decode: "dcmdjpeg", from: &eight},
		{syntax: ".4.51", encode: "dcmcjpeg +ee +q 95", decode: "dcmdjpeg"},
		{syntax: ".4.81", encode: "dcmcjpls +en +md 2", decode: "dcmdjpls"},
		{syntax: ".4.81", encode: "gdcmconv --jpegls --lossy -e 3", decode: "gdcmconv --raw"},
		{syntax: ".4.91", encode: "gdcmconv --j2k --lossy -r 12", decode: "gdcmconv --raw", within: 1},
		{syntax: ".4.91", encode: "gdcmconv --j2k --lossy -r 12", decode: "gdcmconv --raw", within: 1, from: &eight},
	} {
		name, from, expected := c.encode, native, film
		if c.from != nil {
			name, from, expected = name+", 8 bits", native8, c.from
		}
		t.Run(name, func(t *testing.T) {
			path, raw := filepath.Join(t.TempDir(), "a.dcm"), filepath.Join(t.TempDir(), "raw.dcm")
			convert(t, from, path, strings.Fields(c.encode)...)
			got, err := dicomio.Open(path)
			require.NoError(t, err)
			require.Equal(t, "1.2.840.10008.1.2"+c.syntax, got.TransferSyntax)
			require.Equal(t, c.decode != "", got.Lossy)
			if c.decode != "" {
				lossless := expected
				convert(t, path, raw, strings.Fields(c.decode)...)
				expected, err = dicomio.Open(raw)
				require.NoError(t, err)
				assert.Positive(t, farthest(t, lossless, got), "nothing was lost")
			}
			assert.LessOrEqual(t, farthest(t, expected, got), c.within, "levels")
			assert.Equal(t, film.Geometry, got.Geometry)
			if c.read {
				m := measureOne(t, path)
				assert.Equal(t, want.Reading, m.Reading)
				assert.Equal(t, want.Head, m.Head)
				assert.Equal(t, want.Cup, m.Cup)
			}
		})
	}
}

// shifted is the film's picture without its lowest bits.
func shifted(f *dicomio.Film, bits int) *image.Gray16 {
	out := image.NewGray16(f.Pixels.Rect)
	for y := range f.Rows {
		for x := range f.Columns {
			out.SetGray16(x, y, color.Gray16{Y: f.Pixels.Gray16At(x, y).Y >> bits})
		}
	}
	return out
}

// farthest is the largest difference of two films' stored values.
func farthest(t *testing.T, a, b *dicomio.Film) (worst int) {
	t.Helper()
	require.Equal(t, a.Pixels.Rect, b.Pixels.Rect)
	for y := range a.Pixels.Rect.Dy() {
		for x := range a.Pixels.Rect.Dx() {
			d := a.Stored(x, y) - b.Stored(x, y)
			worst = max(worst, d, -d)
		}
	}
	return worst
}

// measureOne measures the right hip of a film.
func measureOne(t *testing.T, path string) study.Measurement {
	t.Helper()
	ms, err := Measure(t.Context(), []string{path}, MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
	require.NoError(t, err)
	require.Len(t, ms, 1)
	require.Equal(t, study.Measured, ms[0].Status, study.NoteWords(ms[0].Reason))
	return ms[0]
}
