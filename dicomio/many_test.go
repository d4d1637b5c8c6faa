package dicomio

import (
	"bytes"
	"context"
	"image"
	"image/jpeg"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/tiff"
)

// folder makes files of the given names and contents and returns its path.
func folder(t *testing.T, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, b := range files {
		path := filepath.Join(dir, name)
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
		require.NoError(t, os.WriteFile(path, b, 0o600))
	}
	return dir
}

func TestExpand(t *testing.T) {
	film := encoded(t, noise(2, 2, 12))
	dir := folder(t, map[string][]byte{
		"f10.dcm": film, "f9.dcm": film, "F1": film, "broken.dcm": []byte("not a film"), "scan.png": nil,
		"notes.txt": []byte("text"), "DICOMDIR": film, ".hidden.dcm": film, ".git/a.dcm": film, "report.pdf": []byte("%PDF-1.4"),
		"sub/10/a.dcm": film, "sub/2/a.dcm": film,
	})
	single := file(t, "named.txt", []byte("kept as it is"))
	got, err := Expand([]string{single, dir})
	require.NoError(t, err)
	want := []string{single}
	for _, name := range []string{"F1", "broken.dcm", "f9.dcm", "f10.dcm", "scan.png", "sub/2/a.dcm", "sub/10/a.dcm"} {
		want = append(want, filepath.Join(dir, name))
	}
	assert.Equal(t, want, got)

	empty := folder(t, map[string][]byte{"notes.txt": []byte("text")})
	_, err = Expand([]string{dir, empty})
	assert.EqualError(t, err, "dicomio: "+empty+": no films in this folder")
	_, err = Expand([]string{filepath.Join(dir, "none")})
	assert.ErrorIs(t, err, os.ErrNotExist)
	assert.ErrorContains(t, err, "dicomio: "+filepath.Join(dir, "none")+": ")
	got, err = Expand(nil)
	assert.NoError(t, err)
	assert.Empty(t, got)
}

func TestOpenAll(t *testing.T) {
	film := encoded(t, noise(20, 30, 12))
	dir := folder(t, map[string][]byte{"a": film, "b": []byte("bad"), "c": film, "d": film[:400], "e": film})
	var paths []string
	for _, name := range []string{"a", "b", "c", "d", "e"} {
		paths = append(paths, filepath.Join(dir, name))
	}
	var seen []int
	films, errs := OpenAll(t.Context(), paths, func(done int) { seen = append(seen, done) })
	assert.Equal(t, []int{1, 2, 3, 4, 5}, seen)
	for i, path := range paths {
		if i == 1 || i == 3 {
			assert.Nil(t, films[i])
			assert.ErrorContains(t, errs[i], path)
			continue
		}
		require.NoError(t, errs[i])
		assert.Equal(t, path, films[i].Path)
	}
	films, errs = InspectAll(t.Context(), paths, nil)
	assert.Nil(t, films[0].Pixels)
	assert.Equal(t, "LW-0007", films[0].PatientCode)
	assert.ErrorContains(t, errs[3], paths[3])
	films, errs = OpenAll(t.Context(), nil, nil)
	assert.Empty(t, films)
	assert.Empty(t, errs)
}

func TestOpenAllStops(t *testing.T) {
	dir := folder(t, map[string][]byte{"a": encoded(t, noise(20, 30, 12))})
	paths := make([]string, 100)
	for i := range paths {
		paths[i] = filepath.Join(dir, "a")
	}
	ctx, cancel := context.WithCancel(t.Context())
	films, errs := OpenAll(ctx, paths, func(done int) {
		if done == 10 {
			cancel()
		}
	})
	opened := 0
	for i := range paths {
		if films[i] != nil {
			opened++
			continue
		}
		assert.ErrorIs(t, errs[i], context.Canceled)
	}
	assert.GreaterOrEqual(t, opened, 8)
	assert.Less(t, opened, 20)
}

// Pictures in every form that is read: values, size, resolution.
func TestPictures(t *testing.T) {
	wide := noise(4, 5, 16).Pixels
	narrow := image.NewGray(image.Rect(0, 0, 5, 4))
	for i := range narrow.Pix {
		narrow.Pix[i] = byte(17 * i)
	}
	pack := &tiff.Options{Compression: tiff.Deflate, Predictor: true}
	for name, c := range map[string]struct {
		b      []byte
		format string
		bits   int
	}{
		"PNG 16":           {encodedPNG(t, wide), "PNG", 16},
		"PNG 8":            {encodedPNG(t, narrow), "PNG", 8},
		"TIFF 16":          {encodedTIFF(t, wide, nil), "TIFF", 16},
		"TIFF 16 deflated": {encodedTIFF(t, wide, pack), "TIFF", 16},
		"TIFF 8":           {encodedTIFF(t, narrow, nil), "TIFF", 8},
		"TIFF 8 deflated":  {encodedTIFF(t, narrow, pack), "TIFF", 8},
	} {
		t.Run(name, func(t *testing.T) {
			path := file(t, "scan", c.b)
			f, err := Open(path)
			require.NoError(t, err)
			assert.Equal(t, c.format, f.Format)
			assert.Equal(t, c.bits, f.Bits)
			assert.Equal(t, "MONOCHROME2", f.Photometric)
			for i := range 20 {
				want := uint16(narrow.Pix[i])
				if c.bits == 16 {
					want = wide.Gray16At(i%5, i/5).Y
				}
				assert.Equal(t, want, f.Pixels.Gray16At(i%5, i/5).Y)
			}
			seen, err := Inspect(path)
			require.NoError(t, err)
			f.Pixels, f.SHA256, f.Key = nil, "", ""
			assert.Equal(t, f, seen)
			assert.Equal(t, 4, f.Rows)
			assert.Equal(t, 5, f.Columns)
		})
	}
}

// The kinds of TIFF that the standard encoder does not write, by dcmtk.
func TestTIFFByDCMTK(t *testing.T) {
	film := noise(40, 30, 12)
	levels := film.Display(nil).Pix
	for _, name := range []string{"plain", "lzw", "packbits"} {
		path := "testdata/dcmtk-" + name + ".tif"
		f, err := Open(path)
		require.NoError(t, err)
		for i, v := range levels {
			require.InDelta(t, v, f.Pixels.Gray16At(i%30, i/30).Y, 1, name)
		}
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		if name != "plain" {
			_, err = decode(field(t, field(t, b, tiffHeight, 4, 2), tiffRowsPerStrip, 4, 2))
			assert.ErrorContains(t, err, "block of more than its 30 x 2 pixels")
		}
	}
}

// A scanned film in JPEG: the size of its pixels from the JFIF segment, greys as
// the standard library decodes them, in one read of the header alone.
func TestJPEGScan(t *testing.T) {
	grey := image.NewGray(image.Rect(0, 0, 24, 16))
	for i := range grey.Pix {
		grey.Pix[i] = byte(i)
	}
	b := encodedJPEG(t, grey)
	want, err := jpeg.Decode(bytes.NewReader(b))
	require.NoError(t, err)
	for name, c := range map[string]struct {
		jfif []byte
		mm   float64
	}{
		"none":       {nil, 0},
		"inch":       {[]byte{0xFF, 0xE0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 2, 1, 1, 44, 1, 44, 0, 0}, 25.4 / 300},
		"centimetre": {[]byte{0xFF, 0xE0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 2, 2, 0, 100, 0, 100, 0, 0}, 0.1},
		"ratio only": {[]byte{0xFF, 0xE0, 0, 16, 'J', 'F', 'I', 'F', 0, 1, 2, 0, 0, 1, 0, 1, 0, 0}, 0},
	} {
		t.Run(name, func(t *testing.T) {
			path := file(t, "scan.jpg", slices.Concat(b[:2], c.jfif, b[2:]))
			f, err := Open(path)
			require.NoError(t, err)
			assert.Equal(t, [2]float64{c.mm, c.mm}, f.Geometry.Scan)
			assert.True(t, f.Lossy)
			for i, v := range want.(*image.Gray).Pix {
				require.EqualValues(t, v, f.Pixels.Gray16At(i%24, i/24).Y)
			}
			seen, err := Inspect(path)
			require.NoError(t, err)
			f.Pixels, f.SHA256, f.Key = nil, "", ""
			assert.Equal(t, f, seen)
		})
	}
}

func TestTIFFWhiteIsZero(t *testing.T) {
	for _, order := range []*tiff.Options{nil, {Compression: tiff.Deflate}} {
		wide := noise(4, 5, 16).Pixels
		b := field(t, encodedTIFF(t, wide, order), tiffPhotometric, 3, tiffWhiteIsZero)
		f, err := decode(b)
		require.NoError(t, err)
		assert.Equal(t, "MONOCHROME1", f.Photometric)
		assert.Equal(t, 65535-wide.Gray16At(1, 1).Y, f.Pixels.Gray16At(1, 1).Y, "bone bright")
		assert.Equal(t, int(wide.Gray16At(1, 1).Y), f.Stored(1, 1))
	}
}

func TestScanSpacing(t *testing.T) {
	grey := image.NewGray16(image.Rect(0, 0, 5, 4))
	b := encodedPNG(t, grey)
	phys := []byte{0, 0, 0, 9, 'p', 'H', 'Y', 's', 0, 0, 0x2E, 0x23, 0, 0, 0x17, 0x11, 1, 0, 0, 0, 0} // 11811 and 5905 to the metre
	phys = withChecksum(phys)
	f, err := decode(append(append(append([]byte{}, b[:33]...), phys...), b[33:]...))
	require.NoError(t, err)
	assert.InDelta(t, 1000.0/11811, f.Geometry.Scan[1], 1e-15) // 300 to the inch
	assert.InDelta(t, 1000.0/5905, f.Geometry.Scan[0], 1e-15)
	assert.Len(t, f.Warnings, 1)

	tagged := encodedTIFF(t, grey, nil) // 72 to the inch, as the encoder writes it
	f, err = decode(tagged)
	require.NoError(t, err)
	mm, kind := f.Geometry.Spacing()
	assert.InDelta(t, 25.4/72, mm, 1e-15)
	assert.Equal(t, "scan", kind)
	f, err = decode(field(t, tagged, tiffUnit, 3, tiffCentimetre))
	require.NoError(t, err)
	assert.InDelta(t, 10.0/72, f.Geometry.Scan[0], 1e-15)
	f, err = decode(field(t, tagged, tiffUnit, 3, 1)) // no unit: a ratio only
	require.NoError(t, err)
	assert.Equal(t, [2]float64{}, f.Geometry.Scan)
}
