package rle_test

import (
	"encoding/binary"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/rle"
)

// frame builds a header for the segments and joins them.
func frame(segments ...string) []byte {
	b := make([]byte, 64)
	binary.LittleEndian.PutUint32(b, uint32(len(segments)))
	for i, s := range segments {
		binary.LittleEndian.PutUint32(b[4+4*i:], uint32(len(b)))
		b = append(b, s...)
	}
	return b
}

func TestDecodeByHand(t *testing.T) {
	one := codec.Size{Rows: 1, Columns: 5, Bits: 8}
	two := codec.Size{Rows: 1, Columns: 5, Bits: 16}
	for _, c := range []struct {
		name string
		data []byte
		size codec.Size
		want []uint16
		err  error
	}{
		{"literal", frame("\x04\x01\x02\x03\x04\xFF\x00"), one, []uint16{1, 2, 3, 4, 255}, nil},
		{"run", frame("\xFC\x07"), one, []uint16{7, 7, 7, 7, 7}, nil},
		{"literal then run", frame("\x01\x01\x02\xFE\x09"), one, []uint16{1, 2, 9, 9, 9}, nil},
		{"code for nothing", frame("\x80\xFC\x07\x80"), one, []uint16{7, 7, 7, 7, 7}, nil},
		{"two segments", frame("\xFC\x01", "\x04\x01\x02\x03\x04\x05\x00"), two, []uint16{0x101, 0x102, 0x103, 0x104, 0x105}, nil},
		{"empty", nil, one, nil, codec.ErrMalformed},
		{"no segments", frame(), one, nil, codec.ErrMalformed},
		{"sixteen segments", append([]byte{16}, make([]byte, 99)...), one, nil, codec.ErrMalformed},
		{"one segment for two bytes", frame("\xFC\x07"), two, nil, codec.ErrMalformed},
		{"colour", frame("\xFC\x07", "\xFC\x07", "\xFC\x07"), one, nil, codec.ErrUnsupported},
		{"literal cut", frame("\x04\x01\x02\x03\x04"), one, nil, codec.ErrMalformed},
		{"run cut", frame("\xFC"), one, nil, codec.ErrMalformed},
		{"too few", frame("\xFD\x07"), one, nil, codec.ErrMalformed},
		{"pad byte in the run", frame("\xFB\x07"), one, []uint16{7, 7, 7, 7, 7}, nil},
		{"pad byte in the literal", frame("\x05\x01\x02\x03\x04\x05\x00"), one, []uint16{1, 2, 3, 4, 5}, nil},
		{"run too long", frame("\xFA\x07"), one, nil, codec.ErrMalformed},
		{"literal too long", frame("\x06\x01\x02\x03\x04\x05\x06\x07"), one, nil, codec.ErrMalformed},
		{"surplus", frame("\xFC\x07\xFC\x07"), one, nil, codec.ErrMalformed},
		{"no rows", frame("\xFC\x07"), codec.Size{Columns: 5, Bits: 8}, nil, codec.ErrMalformed},
		{"32 bits", frame("\xFC\x07"), codec.Size{Rows: 1, Columns: 5, Bits: 32}, nil, codec.ErrUnsupported},
		{"a great size on a small file", frame("\xFC\x07"), codec.Size{Rows: 9999, Columns: 9999, Bits: 8}, nil, codec.ErrMalformed},
		{"a forged size", frame("\xFC\x07"), codec.Size{Rows: 65535, Columns: 65535, Bits: 8}, nil, codec.ErrUnsupported},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, _, err := rle.Decode(c.data, c.size)
			require.ErrorIs(t, err, c.err)
			require.Equal(t, c.want, got)
		})
	}
}

func TestOffsetsOutOfOrder(t *testing.T) {
	data := frame("\xFC\x01", "\xFC\x02")
	size := codec.Size{Rows: 1, Columns: 5, Bits: 16}
	for _, offsets := range [][2]uint32{{0, 66}, {66, 64}, {64, 1 << 31}, {64, 69}} {
		binary.LittleEndian.PutUint32(data[4:], offsets[0])
		binary.LittleEndian.PutUint32(data[8:], offsets[1])
		_, _, err := rle.Decode(data, size)
		require.ErrorIs(t, err, codec.ErrMalformed, "offsets %v", offsets)
	}
}

// samples are frames made by the tools named in testdata/README.md.
var samples = []struct {
	file                string
	rows, columns, bits int
}{
	{"dcmtk-8.rle", 40, 33, 8},
	{"dcmtk-12.rle", 40, 33, 12},
	{"gdcm-16.rle", 40, 33, 16},
}

func TestSamples(t *testing.T) {
	for _, s := range samples {
		t.Run(s.file, func(t *testing.T) {
			data, err := os.ReadFile("testdata/" + s.file)
			require.NoError(t, err)
			size := codec.Size{Rows: s.rows, Columns: s.columns, Bits: s.bits}
			got, info, err := rle.Decode(data, size)
			require.NoError(t, err)
			require.Equal(t, codec.Info{Bits: (s.bits + 7) / 8 * 8}, info)
			codectest.Same(t, got, codectest.Film(s.rows, s.columns, s.bits), s.columns)
			codectest.RefuseCut(t, rle.Decode, data, size, 1, 1)
			codectest.SurviveFlips(t, rle.Decode, data, size)
		})
	}
}

func TestAgainstTools(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 16} {
		for _, size := range [][2]int{{200, 301}, {1, 517}, {517, 1}, {1, 1}, {2, 2}} {
			rows, columns := size[0], size[1]
			for _, tool := range []string{"dcmcrle", "gdcmconv"} {
				if tool == "gdcmconv" && bits == 8 && columns == 1 {
					continue // gdcm 3.0.21 aborts on an odd column of bytes
				}
				t.Run(fmt.Sprintf("%s %d bits %d x %d", tool, bits, columns, rows), func(t *testing.T) {
					var args []string
					if tool == "gdcmconv" {
						args = []string{"--rle"}
					}
					film := codectest.Film(rows, columns, bits)
					data := codectest.Compress(t, film, rows, columns, bits, tool, args...)
					got, _, err := rle.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: bits})
					require.NoError(t, err)
					codectest.Same(t, got, film, columns)
				})
			}
		}
	}
}

func TestMemory(t *testing.T) {
	size := codec.Size{Rows: 1500, Columns: 1400, Bits: 16}
	data := codectest.Compress(t, codectest.Film(1500, 1400, 12), 1500, 1400, 12, "dcmcrle")
	codectest.BoundMemory(t, rle.Decode, data, size)
}

func FuzzDecode(f *testing.F) {
	for _, s := range samples {
		data, err := os.ReadFile("testdata/" + s.file)
		require.NoError(f, err)
		f.Add(data, uint8(s.rows), uint8(s.columns), uint8(s.bits))
	}
	f.Fuzz(func(t *testing.T, data []byte, rows, columns, bits uint8) {
		codectest.CheckOutcome(t, rle.Decode, data, codec.Size{Rows: int(rows), Columns: int(columns), Bits: int(bits)})
	})
}

func BenchmarkDecode(b *testing.B) {
	size := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	data := codectest.Compress(b, codectest.Film(size.Rows, size.Columns, 12), size.Rows, size.Columns, 12, "dcmcrle")
	b.SetBytes(int64(2 * size.Pixels()))
	b.ReportAllocs()
	for b.Loop() {
		if _, _, err := rle.Decode(data, size); err != nil {
			b.Fatal(err)
		}
	}
}
