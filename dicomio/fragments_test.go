package dicomio

import (
	"encoding/binary"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
)

// encapsulation makes pixel data of fragments after an offset table.
func encapsulation(table []uint32, parts ...string) *header {
	le := binary.LittleEndian
	item := func(b []byte, value string) []byte {
		return append(le.AppendUint32(append(b, 0xFE, 0xFF, 0x00, 0xE0), uint32(len(value))), value...)
	}
	var offsets []byte
	for _, o := range table {
		offsets = le.AppendUint32(offsets, o)
	}
	b := item(nil, string(offsets))
	for _, p := range parts {
		b = item(b, p)
	}
	b = append(b, 0xFE, 0xFF, 0xDD, 0xE0, 0, 0, 0, 0)
	return &header{data: b, size: len(b), order: le, pixels: head{n: undefined}}
}

func TestFramesOfFragments(t *testing.T) {
	const jpeg, j2k = "\xFF\xD8", "\xFF\x4F\xFF\x51"
	for name, c := range map[string]struct {
		h      *header
		frames []string
	}{
		"one":                     {encapsulation(nil, "ab"), []string{"ab"}},
		"one in three":            {encapsulation(nil, "ab", "cd", "ef"), []string{"abcdef"}},
		"one each":                {encapsulation(nil, "ab", "cd"), []string{"ab", "cd"}},
		"one each, table wrong":   {encapsulation([]uint32{0, 7}, "ab", "cd"), []string{"ab", "cd"}},
		"by table":                {encapsulation([]uint32{0, 20}, "ab", "cd", "ef"), []string{"abcd", "ef"}},
		"by marker":               {encapsulation(nil, jpeg, "cd", jpeg+"ef"), []string{jpeg + "cd", jpeg + "ef"}},
		"by marker, table absurd": {encapsulation([]uint32{0, 21}, j2k, "cd", j2k+"ef"), []string{j2k + "cd", j2k + "ef"}},
		"table that goes back":    {encapsulation([]uint32{10, 0}, jpeg, "cd", jpeg), []string{jpeg + "cd", jpeg}},
	} {
		t.Run(name, func(t *testing.T) {
			for i, want := range c.frames {
				got, err := c.h.encapsulated(len(c.frames), i+1)
				require.NoError(t, err)
				assert.Equal(t, want, string(got))
			}
		})
	}
	for name, c := range map[string]struct {
		h    *header
		says string
	}{
		"too few":         {encapsulation(nil, "ab"), "1 fragments of pixel data for 2 frames"},
		"cannot be told":  {encapsulation(nil, "ab", "cd", "ef"), "no table that parts them"},
		"offsets the end": {encapsulation([]uint32{0, 30}, "ab", "cd", "ef"), "no table that parts them"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := c.h.encapsulated(2, 1)
			assert.ErrorIs(t, err, ErrMalformed)
			assert.ErrorContains(t, err, c.says)
		})
	}
}

// A codestream of fewer bits than the file says is stored has the sign in its
// own highest bit.
func TestSignOfDecodedSamples(t *testing.T) {
	l := layout{rows: 1, columns: 2, bits: 16, signed: true, allocated: 16, photometric: "MONOCHROME2"}
	f := &Film{Pixels: l.samples([]uint16{0x1FFF, 0x0001}, codec.Info{Bits: 13}, flip(16, false, true)), Bits: 16, Signed: true, Photometric: "MONOCHROME2"}
	assert.Equal(t, []int{-1, 1}, []int{f.Stored(0, 0), f.Stored(1, 0)})
}

// Values beyond the bits stored stay at the end of the range.
func TestLossyOvershoot(t *testing.T) {
	s := []uint16{0, 4095, 4096, 65535}
	layout{bits: 12}.limit(s, false)
	assert.Equal(t, []uint16{0, 4095, 4095, 4095}, s)
	s = []uint16{0xFFFF, 0xF7FF, 0x7FFF, 5}
	layout{bits: 12, signed: true}.limit(s, true)
	assert.Equal(t, []uint16{0xFFFF, 0xF800, 0x07FF, 5}, s)
}

// compressedFilm is a film of 40 x 33 pixels whose codestream is in a file.
func compressedFilm(t *testing.T, uid, path string, bits int) []byte {
	t.Helper()
	stream, err := os.ReadFile(path)
	require.NoError(t, err)
	return compressedFrame(t, uid, stream, bits)
}

// compressedFrame is compressedFilm of a codestream at hand.
func compressedFrame(t *testing.T, uid string, stream []byte, bits int) []byte {
	t.Helper()
	if len(stream)%2 == 1 {
		stream = append(stream, 0)
	}
	le := binary.LittleEndian
	set := dataSet(le, false, image16(le, 40, 33, uint16(bits+7)/8*8, uint16(bits), uint16(bits-1), 0, "MONOCHROME2")...)
	set = append(appendHead(set, pixelDataTag, "OB", undefined), encapsulation(nil, string(stream)).data...)
	return dicomFile(uid, set)
}

// The same film in both kinds of JPEG 2000.
func TestHighThroughputFilms(t *testing.T) {
	want, err := decode(compressedFilm(t, "1.2.840.10008.1.2.4.90", "codec/jpeg2000/testdata/opj-12-modes.j2k", 12))
	require.NoError(t, err)
	for uid, name := range map[string]string{".201": "ht-12.j2k", ".202": "ht-12.j2k", ".203": "ht-12-97.j2k"} {
		f, err := decode(compressedFilm(t, "1.2.840.10008.1.2.4"+uid, "codec/jpeg2000/testdata/"+name, 12))
		require.NoError(t, err)
		assert.Empty(t, f.Warnings)
		assert.Equal(t, name == "ht-12-97.j2k", f.Lossy)
		if !f.Lossy {
			assert.Equal(t, want.Pixels, f.Pixels)
			continue
		}
		for i := range want.Pixels.Pix[:40*33] {
			x, y := i%33, i/33
			require.InDelta(t, want.Pixels.Gray16At(x, y).Y, f.Pixels.Gray16At(x, y).Y, 20)
		}
	}
}

// A progressive JPEG is told where the transfer syntax has another kind.
func TestProgressiveUnderAnotherSyntax(t *testing.T) {
	const path = "codec/jpeg/testdata/progressive-8.jpg"
	f, err := decode(compressedFilm(t, "1.2.840.10008.1.2.4.50", path, 8))
	require.NoError(t, err)
	assert.Equal(t, []string{"the picture is a progressive JPEG, which JPEG baseline (lossy, 8 bit) is not"}, said(f.Warnings))
	assert.True(t, f.Lossy)
	f, err = decode(compressedFilm(t, "1.2.840.10008.1.2.4.55", path, 8))
	require.NoError(t, err)
	assert.Empty(t, f.Warnings)
}
