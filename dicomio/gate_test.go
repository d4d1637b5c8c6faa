package dicomio

import (
	"bytes"
	"compress/flate"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"

	"os"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestGate(t *testing.T) {
	g := newGate(100)
	var inside, most, large atomic.Int64
	var wait sync.WaitGroup
	for i := range 200 {
		wait.Go(func() {
			n := int64(1 + i%40)
			if i%50 == 0 {
				n = 1000 // more than there is
			}
			leave := g.enter(n)
			defer leave()
			now := inside.Add(min(n, 100))
			for seen := most.Load(); now > seen && !most.CompareAndSwap(seen, now); seen = most.Load() {
			}
			if n == 1000 {
				large.Add(1)
				assert.EqualValues(t, 100, inside.Load(), "alone")
			}
			time.Sleep(time.Millisecond)
			inside.Add(-min(n, 100))
		})
	}
	wait.Wait()
	assert.LessOrEqual(t, most.Load(), int64(100))
	assert.Greater(t, most.Load(), int64(60), "several at once")
	assert.EqualValues(t, 4, large.Load())
	assert.Zero(t, g.inside)
}

// deflatedFrames is a file of frames that are black but for their first pixel, which has
// the frame's number.
func deflatedFrames(t testing.TB, frames, side int) []byte {
	t.Helper()
	le := binary.LittleEndian
	els := append([]el{text(0x00080016, "UI", digitalXRay), text(0x00080018, "UI", "2.25.1"), text(0x00280008, "IS", strconv.Itoa(frames))},
		image16(le, uint16(side), uint16(side), 16, 16, 15, 0, "MONOCHROME2")...)
	var b bytes.Buffer
	b.Write(dicomFile("1.2.840.10008.1.2.1.99", nil))
	z, err := flate.NewWriter(&b, 9)
	require.NoError(t, err)
	_, err = z.Write(appendHead(dataSet(le, false, els...), pixelDataTag, "OW", frames*side*side*2))
	require.NoError(t, err)
	frame := make([]byte, side*side*2)
	for n := range frames {
		le.PutUint16(frame, uint16(n+1))
		_, err = z.Write(frame)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

// A small file of many frames takes the memory of the frame that is asked for, and so do
// six of them.
func TestDeflatedFramesTakeTheirOwnMemory(t *testing.T) {
	const frames, side = 400, 500
	b := deflatedFrames(t, frames, side)
	require.Less(t, len(b), 300_000)
	path := file(t, "many.dcm", b)
	for _, n := range []int{1, 2, 200, 400} {
		var f *Film
		used := allocated(func() {
			var err error
			f, err = OpenFrame(path, n)
			require.NoError(t, err)
		})
		assert.EqualValues(t, n, f.Stored(0, 0))
		assert.Zero(t, f.Stored(1, 0))
		assert.Less(t, used, uint64(2*2*side*side+2*len(b)+slack))
	}
	var paths []string
	for _, name := range []string{"a", "b", "c", "d", "e", "f"} {
		paths = append(paths, filepath.Join(filepath.Dir(path), name))
		require.NoError(t, os.Link(path, paths[len(paths)-1]))
	}
	used := allocated(func() {
		_, errs := OpenAll(context.Background(), paths, nil)
		for _, err := range errs {
			require.NoError(t, err)
		}
	})
	assert.Less(t, used, uint64(6*(2*2*side*side+2*len(b)+slack)))

	d, err := NewDeidentifier([]byte("a key of some length, for a test"))
	require.NoError(t, err)
	const few = 40
	out, _, err := d.film(deflatedFrames(t, few, side))
	require.NoError(t, err)
	require.Greater(t, len(out), few*side*side*2)
	f, err := decodeFrame(out, few-1)
	require.NoError(t, err)
	assert.EqualValues(t, few-1, f.Stored(0, 0))

	_, err = decodeFrame(deflatedFrames(t, 1025, 8), 1)
	require.ErrorIs(t, err, ErrUnsupported)
	require.ErrorContains(t, err, "1025 frames; films of up to 1024 are read")
}

// A JPEG of hundreds of scans takes minutes with a large picture, each scan going
// over all of it; it is refused by its count.
func TestManyScans(t *testing.T) {
	b, err := os.ReadFile("codec/jpeg/testdata/progressive-8.jpg")
	require.NoError(t, err)
	_, err = decode(bytes.Clone(b))
	require.NoError(t, err)
	end := len(b) - 2
	last := bytes.LastIndex(b, []byte{0xFF, 0xC4})
	bomb := append(bytes.Clone(b[:end]), bytes.Repeat(b[last:end], 400)...)
	bomb = append(bomb, 0xFF, 0xD9)
	for _, film := range [][]byte{bomb, compressedFrame(t, "1.2.840.10008.1.2.4.50", bomb, 8)} {
		_, err = decode(film)
		require.ErrorIs(t, err, ErrUnsupported)
		require.ErrorContains(t, err, "more than 42 scans")
	}
}

// The key that is taken while the file is hashed is that of the picture, and the hash
// that of the file as it was, for pictures larger and smaller than what is hashed at once.
func TestKeyTakenBehindTheHash(t *testing.T) {
	for _, side := range [][2]int{{1, 1}, {3, 5}, {700, 741}, {1024, 1500}} {
		for _, signed := range []bool{false, true} {
			film := noise(side[0], side[1], 12)
			film.Signed = signed
			b := encoded(t, film)
			f, err := Open(file(t, "a.dcm", b))
			require.NoError(t, err)
			sum := sha256.Sum256(b)
			assert.Equal(t, hex.EncodeToString(sum[:]), f.SHA256)
			assert.Equal(t, film.Pixels, f.Pixels)
			require.NotEmpty(t, f.Key)
			assert.Equal(t, film.PixelKey(), f.Key)
			assert.Equal(t, f.PixelKey(), f.Key)
		}
	}
}
