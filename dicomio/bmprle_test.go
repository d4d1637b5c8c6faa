package dicomio

import (
	"encoding/binary"
	"errors"
	"image"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// runBMP is a BMP of 8 bits with a palette of all greys and these run lengths.
func runBMP(w, h int, stream ...byte) []byte {
	b := make([]byte, bmpHead+4*256)
	copy(b, "BM")
	put := func(at int, v int) { binary.LittleEndian.PutUint32(b[at:], uint32(v)) }
	put(2, len(b)+len(stream))
	put(10, len(b))
	put(14, 40)
	put(18, w)
	put(22, h)
	binary.LittleEndian.PutUint16(b[26:], 1)
	binary.LittleEndian.PutUint16(b[28:], 8)
	put(30, bmpRLE8)
	put(34, len(stream))
	put(46, 256)
	for i := range 256 {
		copy(b[bmpHead+4*i:], []byte{byte(i), byte(i), byte(i), 0})
	}
	return append(b, stream...)
}

// Runs, values as they are, ends of lines and moves; the lowest row comes first.
func TestBMPOfRunLengths(t *testing.T) {
	b := runBMP(4, 3, 4, 7, 0, rleEndLine, 0, 3, 1, 2, 3, 0, 1, 9, 0, rleEndLine, 0, rleMove, 2, 0, 2, 5, 0, rleEnd)
	f, err := decodeBMP(b)
	require.NoError(t, err)
	require.Equal(t, gray16(3, 4, []uint16{0, 0, 5, 5, 1, 2, 3, 9, 7, 7, 7, 7}), f.Pixels)

	for name, bad := range map[string][]byte{
		"no end":       runBMP(4, 3, 4, 7),
		"half a pair":  runBMP(4, 3, 4, 7, 0),
		"values short": runBMP(4, 3, 0, 9, 1, 2),
		"move short":   runBMP(4, 3, 0, rleMove, 1),
		"too large":    runBMP(30000, 30000, 0, rleEnd),
	} {
		_, err := decodeBMP(bad)
		require.Error(t, err, name)
		require.True(t, errors.Is(err, ErrMalformed) || errors.Is(err, ErrUnsupported), "%s: %v", name, err)
	}
	f, err = decodeBMP(runBMP(2, 1, 255, 6, 0, rleMove, 9, 9, 9, 9, 0, rleEnd))
	require.NoError(t, err, "what lies beyond the picture is left out")
	require.Equal(t, gray16(1, 2, []uint16{6, 6}), f.Pixels)
}

// ImageMagick's run lengths are the picture that it was given.
func TestBMPOfRunLengthsByAnother(t *testing.T) {
	if _, err := exec.LookPath("convert"); err != nil {
		t.Skip("ImageMagick is not installed: nothing is checked against it")
	}
	dir := t.TempDir()
	pgm, out := filepath.Join(dir, "a.pgm"), filepath.Join(dir, "a.bmp")
	want := image.NewGray16(image.Rect(0, 0, 61, 40))
	data := []byte("P5 61 40 255\n")
	for i := range 61 * 40 {
		v := byte(i / 7 % 60 * 4)
		data = append(data, v)
		binary.BigEndian.PutUint16(want.Pix[2*i:], uint16(v))
	}
	require.NoError(t, os.WriteFile(pgm, data, 0o600))
	said, err := exec.Command("convert", pgm, "+dither", "-type", "Palette", "-compress", "RLE", "BMP3:"+out).CombinedOutput()
	require.NoError(t, err, string(said))
	b, err := os.ReadFile(out)
	require.NoError(t, err)
	require.True(t, runs(b), "it was written uncompressed")
	f, err := decodeBMP(b)
	require.NoError(t, err)
	require.Equal(t, want.Pix, f.Pixels.Pix)
}
