package dicomio

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A native film of 3000 x 3000 is opened in at most 1.2 times its file.
func TestMemoryOfNativeFilm(t *testing.T) {
	for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
		film := noise(3000, 3000, 12)
		film.Photometric = photometric
		b := encoded(t, film)
		path := file(t, "a.dcm", b)
		var got *Film
		used := allocated(func() {
			var err error
			got, err = Open(path)
			require.NoError(t, err)
		})
		assert.True(t, bytes.Equal(film.Pixels.Pix, got.Pixels.Pix))
		assert.Less(t, used, uint64(len(b))*12/10)
		t.Logf("%d bytes allocated for a file of %d", used, len(b))
	}
}

// A compressed film is not held twice: what is allocated is its pixels, its file
// and what the decoder works in, here at most a tenth of the pixels.
func TestMemoryOfCompressedFilm(t *testing.T) {
	from, to := file(t, "a.dcm", encoded(t, smooth(1500, 1500, 12))), filepath.Join(t.TempDir(), "b.dcm")
	for _, encode := range []string{"dcmcrle", "dcmcjpeg", "dcmcjpls"} {
		tool(t, encode, from, to)
		info, err := os.Stat(to)
		require.NoError(t, err)
		used := allocated(func() {
			_, err := Open(to)
			require.NoError(t, err)
		})
		assert.Less(t, used, uint64(info.Size())+2*1500*1500*11/10, encode)
	}
}

func BenchmarkOpenNative3000(b *testing.B) {
	data := encoded(b, noise(3000, 3000, 12))
	path := file(b, "a.dcm", data)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Open(path); err != nil {
			b.Fatal(err)
		}
	}
}

// From the bytes read to grey values.
func BenchmarkDecodeNative3000(b *testing.B) {
	data := encoded(b, noise(3000, 3000, 12))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		// The film is decoded in place; its values differ from the second
		// time on, the work does not.
		if _, err := decode(data); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite3000(b *testing.B) {
	film := noise(3000, 3000, 12)
	b.SetBytes(18e6)
	for b.Loop() {
		if err := Write(&bytes.Buffer{}, film); err != nil {
			b.Fatal(err)
		}
	}
}

// The headers of a thousand films.
func BenchmarkInspect1000(b *testing.B) {
	dir := b.TempDir()
	data := encoded(b, noise(600, 600, 12))
	for i := range 1000 {
		require.NoError(b, os.WriteFile(filepath.Join(dir, strconv.Itoa(i)), data, 0o600))
	}
	for b.Loop() {
		paths, err := Expand([]string{dir})
		require.NoError(b, err)
		require.Len(b, paths, 1000)
		_, errs := InspectAll(b.Context(), paths, nil)
		require.NoError(b, errors.Join(errs...))
	}
}
