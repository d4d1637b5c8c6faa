package jpeg2000_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/jpeg2000"
)

// openJPH compresses a film with OpenJPH, which LINERWATCH_OPENJPH names: the
// folder of the npm package @cornerstonejs/codec-openjph.
func openJPH(tb testing.TB, pix []uint16, rows, columns, bits int, options string) []byte {
	tb.Helper()
	module := os.Getenv("LINERWATCH_OPENJPH")
	if module == "" {
		tb.Skip("LINERWATCH_OPENJPH names no OpenJPH")
	}
	args := append([]string{"../../../.ci/htj2k.cjs", module, "IN", "OUT"}, strings.Fields(options)...)
	return codectest.Run(tb, codectest.PGM(pix, rows, columns, bits), "in.pgm", "out.j2k", "node", args...)
}

// htForms are options of .ci/htj2k.cjs. Those with a step are lossy. With levels=0
// OpenJPH leaves out a bit-plane, and no decoder gives back a sample of 0.
var htForms = []string{
	"", "levels=1", "levels=7", "block=4,4", "block=4,256", "block=128,32", "block=1024,4 levels=2",
	"order=0", "order=1", "order=2", "order=3", "order=4", "tile=50,40", "tile=33,71 order=3 levels=2",
	"precinct=64,32 order=3", "step=0.001", "step=0.01 levels=3", "step=0.0001 tile=50,40",
}

// TestHighThroughput decodes what OpenJPH has coded; lossless films come back, and
// the others as OpenJPEG decodes them.
func TestHighThroughput(t *testing.T) {
	compare := func(name string, film []uint16, rows, columns, bits int, options string) {
		t.Run(fmt.Sprintf("%s %d x %d, %d bits %s", name, columns, rows, bits, options), func(t *testing.T) {
			data := openJPH(t, film, rows, columns, bits, options)
			got, info, err := jpeg2000.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
			require.NoError(t, err)
			lossy := strings.Contains(options, "step")
			require.Equal(t, codec.Info{Bits: bits, Lossy: lossy}, info)
			if lossy {
				film = reference(t, data, rows, columns)
			}
			codectest.Same(t, got, film, columns)
		})
	}
	for _, options := range htForms {
		compare("film", codectest.Film(117, 143, 12), 117, 143, 12, options)
	}
	for _, bits := range []int{8, 10, 12, 16} {
		compare("noise", codectest.Noise(61, 75, bits), 61, 75, bits, "")
		compare("black", make([]uint16, 61*75), 61, 75, bits, "")
	}
	for _, size := range [][2]int{{1, 77}, {77, 1}, {1, 1}, {2, 3}, {3, 2}, {5, 200}, {300, 300}} {
		compare("film", codectest.Film(size[0], size[1], 12), size[0], size[1], 12, "levels=1")
	}
}

// refined is a film of one code-block, 33 x 40 and 8 bits, whose cleanup pass is of
// the last bit-plane but one, and that is refined by passes from bytes of chance.
// There is no encoder to be had that makes such passes; any bytes are in order.
func refined(tb testing.TB, seed uint64, passes, n int, causal bool) []byte {
	tb.Helper()
	r := rand.New(rand.NewPCG(seed, 9))
	good := read(tb, "ht-8-block.j2k")
	sod := bytes.Index(good, []byte{0xFF, 0x93}) + 2
	sot := bytes.Index(good, []byte{0xFF, 0x90})
	body := good[sod : len(good)-2]
	zeros, length, used := onePass(tb, body)

	var w bitWriter
	w.put(1, 1) // not empty
	w.put(1, 1) // included
	for range zeros {
		w.put(0, 1)
	}
	w.put(1, 1)
	w.put([]uint32{2: 0b10, 3: 0b1100}[passes], passes+passes/3)
	w.put(1<<10-2, 10) // Lblock is 12
	w.put(uint32(length), 12)
	w.put(uint32(n), 12+passes-2)
	packet := append(w.close(), body[used:used+length]...)
	for range n {
		b := byte(r.Uint32())
		if r.IntN(4) == 0 {
			b = 0xFF
		}
		if packet[len(packet)-1] == 0xFF {
			b &= 0x7F // as no two bytes of coded data are above FF8F
		}
		packet = append(packet, b)
	}
	out := append(bytes.Clone(good[:sod]), packet...)
	out[bytes.Index(out, []byte{0xFF, 0x5C})+5] += 1 << 3 // one plane more than the cleanup pass has
	binary.BigEndian.PutUint32(out[sot+6:], uint32(len(out)-sot))
	if causal {
		out[bytes.Index(out, []byte{0xFF, 0x52})+12] |= 8
	}
	return append(out, 0xFF, 0xD9)
}

// onePass reads the header of a packet with one code-block of one pass: its
// bit-planes that are zero, its length, and the header's.
func onePass(tb testing.TB, b []byte) (zeros, length, used int) {
	at := 0
	bit := func() int {
		require.NotEqual(tb, byte(0xFF), b[at/8], "stuffing is not looked at")
		v := int(b[at/8]>>(7-at%8)) & 1
		at++
		return v
	}
	require.Equal(tb, 3, bit()<<1|bit())
	for bit() == 0 {
		zeros++
	}
	require.Zero(tb, bit()) // one pass
	width := 3
	for bit() == 1 {
		width++
	}
	for range width {
		length = length<<1 | bit()
	}
	return zeros, length, (at + 7) / 8
}

// bitWriter writes a packet header (T.800 B.10.1).
type bitWriter struct {
	b    []byte
	left int
}

func (w *bitWriter) put(v uint32, n int) {
	for n--; n >= 0; n-- {
		if w.left == 0 {
			w.left = 8
			if len(w.b) > 0 && w.b[len(w.b)-1] == 0xFF {
				w.left = 7
			}
			w.b = append(w.b, 0)
		}
		w.left--
		w.b[len(w.b)-1] |= byte(v>>n&1) << w.left
	}
}

func (w *bitWriter) close() []byte {
	if w.b[len(w.b)-1] == 0xFF {
		w.b = append(w.b, 0)
	}
	return w.b
}

// TestRefinement compares both passes that refine with OpenJPEG.
func TestRefinement(t *testing.T) {
	changed := 0
	plain, _, err := jpeg2000.Decode(read(t, "ht-8-block.j2k"), codec.Size{Rows: rows, Columns: columns, Bits: 8})
	require.NoError(t, err)
	for seed := range uint64(12) {
		for _, passes := range []int{2, 3} {
			for _, causal := range []bool{false, true} {
				data := refined(t, seed, passes, []int{400, 60, 3}[seed%3], causal)
				got, _, err := jpeg2000.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 8})
				require.NoError(t, err)
				codectest.Same(t, got, reference(t, data, rows, columns), columns)
				for i := range got {
					if got[i] != plain[i] {
						changed++
					}
				}
			}
		}
	}
	require.Positive(t, changed)
}

func TestHighThroughputFaults(t *testing.T) {
	size := codec.Size{Rows: rows, Columns: columns, Bits: 8}
	good := read(t, "ht-8-block.j2k")
	sod := bytes.Index(good, []byte{0xFF, 0x93}) + 2
	_, length, used := onePass(t, good[sod:])
	end := sod + used + length
	with := func(at int, values ...byte) []byte {
		b := bytes.Clone(good)
		copy(b[at:], values)
		return b
	}
	sot := bytes.Index(good, []byte{0xFF, 0x90})
	region := append(bytes.Clone(good[:sot]), append([]byte{0xFF, 0x5E, 0, 5, 0, 0, 7}, good[sot:]...)...)
	for name, c := range map[string]struct {
		data []byte
		kind error
		says string
	}{
		"codes longer than the block": {with(end-2, 0xFF, 0xFF), codec.ErrMalformed, "with codes of 4095"},
		"codes of no bytes":           {with(end-2, 0xF0, 0), codec.ErrMalformed, "with codes of 0"},
		"region of interest":          {region, codec.ErrUnsupported, "region of interest in high-throughput"},
	} {
		_, _, err := jpeg2000.Decode(c.data, size)
		require.ErrorIs(t, err, c.kind, name)
		require.ErrorContains(t, err, c.says)
	}
}
