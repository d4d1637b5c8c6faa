package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// smooth is a film as compression likes them: slopes, an edge, a little noise.
func smooth(rows, columns, bits int) *Film {
	f := noise(rows, columns, bits)
	r := rand.New(rand.NewPCG(7, uint64(bits)))
	top := float64(mask(bits))
	for y := range rows {
		for x := range columns {
			v := 0.45 + 0.3*math.Sin(float64(x)/17)*math.Cos(float64(y)/23) + 0.01*r.NormFloat64()
			if math.Hypot(float64(x-columns/2), float64(y-rows/2)) < float64(rows)/5 {
				v += 0.3
			}
			binary.BigEndian.PutUint16(f.Pixels.Pix[f.Pixels.PixOffset(x, y):], uint16(top*clamp(v)))
		}
	}
	return f
}

// A film encoded anew by dcmtk and gdcm comes back bit for bit from every
// lossless syntax, and equal to their own decoding from every lossy one.
func TestEverySyntax(t *testing.T) {
	if testing.Short() {
		t.Skip("many runs of other programs")
	}
	lossless := [][]string{
		{"dcmconv", "+te"}, {"dcmconv", "+ti"}, {"dcmconv", "+tb"}, {"dcmconv", "+td"}, {"dcmcrle"},
		{"dcmcjpeg", "+el", "+sv", "1"}, {"dcmcjpeg", "+el", "+sv", "2"}, {"dcmcjpeg", "+el", "+sv", "4"}, {"dcmcjpeg", "+el", "+sv", "7"}, {"dcmcjpeg", "+e1"},
		{"dcmcjpls"}, {"gdcmconv", "--rle"}, {"gdcmconv", "--jpeg"}, {"gdcmconv", "--jpegls"}, {"gdcmconv", "--j2k"},
		{"gdcmconv", "--deflated"},
	}
	lossy := [][]string{
		{"dcmcjpls", "+en", "+md", "3"}, {"gdcmconv", "--jpegls", "--lossy", "-e", "2"}, {"gdcmconv", "--j2k", "--lossy", "-r", "3"},
		{"gdcmconv", "--j2k", "--lossy", "-q", "50", "--irreversible"},
		{"dcmcjpeg", "+eb"}, {"dcmcjpeg", "+ee"},
	}
	for _, bits := range []int{8, 10, 12, 16} {
		film := smooth(150, 131, bits)
		from := file(t, "film.dcm", encoded(t, film))
		encode := func(t *testing.T, args []string) *Film {
			out := filepath.Join(t.TempDir(), "out.dcm")
			tool(t, args[0], append(args[1:len(args):len(args)], from, out)...)
			f, err := Open(out)
			require.NoError(t, err)
			return f
		}
		for _, args := range lossless {
			t.Run(fmt.Sprint(bits, args), func(t *testing.T) {
				f := encode(t, args)
				assert.True(t, bytes.Equal(film.Pixels.Pix, f.Pixels.Pix))
				assert.Equal(t, bits, f.Bits)
				assert.Equal(t, film.Geometry, f.Geometry)
				assert.False(t, f.Lossy)
			})
		}
		for _, args := range lossy {
			t.Run(fmt.Sprint(bits, args), func(t *testing.T) {
				f := encode(t, args)
				raw := filepath.Join(t.TempDir(), "raw.dcm")
				if args[0] == "dcmcjpeg" {
					tool(t, "dcmdjpeg", f.Path, raw)
				} else {
					tool(t, "gdcmconv", "--raw", f.Path, raw)
				}
				for i, want := range samples(t, raw) {
					// The others leave what overshoots; it is ended at the bits stored.
					require.Equal(t, min(want, int(mask(f.Bits))), f.Stored(i%131, i/131))
				}
				assert.True(t, f.Lossy)
			})
		}
	}
}

// samples are the numbers in native pixel data, whatever bits are stored.
func samples(t *testing.T, path string) (out []int) {
	b, _, err := read(path)
	require.NoError(t, err)
	h, err := parseHeader(b, len(b))
	require.NoError(t, err)
	l, err := h.layout()
	require.NoError(t, err)
	raw, err := h.native(l, 1)
	require.NoError(t, err)
	for i := range l.rows * l.columns {
		if l.allocated == 8 {
			out = append(out, int(raw[i]))
		} else {
			out = append(out, int(binary.LittleEndian.Uint16(raw[2*i:])))
		}
	}
	return out
}
