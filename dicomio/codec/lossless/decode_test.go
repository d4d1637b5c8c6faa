package lossless_test

import (
	"bytes"
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/lossless"
)

// samples are codestreams made by the tools named in testdata/README.md.
var samples = []struct {
	file                string
	rows, columns, bits int
	precision           int
}{
	{"dcmtk-8-sv1.jpg", 40, 33, 8, 8},
	{"dcmtk-12-sv2.jpg", 40, 33, 12, 16},
	{"dcmtk-12-sv7.jpg", 40, 33, 12, 16},
	{"dcmtk-16-sv4.jpg", 40, 33, 16, 16},
	{"gdcm-16-sv1.jpg", 40, 33, 16, 16},
}

func TestSamples(t *testing.T) {
	for _, s := range samples {
		t.Run(s.file, func(t *testing.T) {
			data, err := os.ReadFile("testdata/" + s.file)
			require.NoError(t, err)
			size := codec.Size{Rows: s.rows, Columns: s.columns, Bits: s.precision}
			got, info, err := lossless.Decode(data, size)
			require.NoError(t, err)
			require.Equal(t, codec.Info{Bits: s.precision}, info)
			codectest.Same(t, got, codectest.Film(s.rows, s.columns, s.bits), s.columns)
			codectest.RefuseCut(t, lossless.Decode, data, size, 1, 1)
			codectest.FillBeforeEnd(t, lossless.Decode, data, size)
			codectest.SurviveFlips(t, lossless.Decode, data, size)
		})
	}
}

func TestEveryForm(t *testing.T) {
	for _, size := range [][2]int{{23, 31}, {1, 40}, {40, 1}, {1, 1}} {
		for predictor := 1; predictor <= 7; predictor++ {
			for _, bits := range []int{2, 8, 12, 16} {
				for _, restart := range []int{0, 1, 3} {
					for _, shift := range []int{0, 1} {
						e := encoding{size[0], size[1], bits, predictor, shift, restart}
						t.Run(fmt.Sprintf("%+v", e), func(t *testing.T) {
							for _, film := range [][]uint16{codectest.Film(e.rows, e.columns, bits), codectest.Noise(e.rows, e.columns, bits)} {
								got, info, err := lossless.Decode(encode(film, e), codec.Size{Rows: e.rows, Columns: e.columns, Bits: bits})
								require.NoError(t, err)
								require.Equal(t, codec.Info{Bits: bits, Lossy: shift > 0}, info)
								want := slices.Clone(film)
								for i := range want {
									want[i] = want[i] >> shift << shift
								}
								codectest.Same(t, got, want, e.columns)
							}
						})
					}
				}
			}
		}
	}
}

// TestEncoder shows that the encoder above writes what others read.
func TestEncoder(t *testing.T) {
	for _, e := range []encoding{{23, 31, 16, 6, 0, 0}, {23, 31, 12, 2, 0, 2}, {23, 31, 8, 7, 0, 5}} {
		film := codectest.Film(e.rows, e.columns, e.bits)
		file := codectest.Encapsulated(encode(film, e), e.rows, e.columns, e.bits, "1.2.840.10008.1.2.4.57")
		made := codectest.Convert(t, file, "dcmdjpeg")
		codectest.Same(t, codectest.Native(t, made, len(film), e.bits), film, e.columns)
	}
}

func TestAgainstTools(t *testing.T) {
	compare := func(t *testing.T, rows, columns, bits int, tool string, args ...string) {
		t.Run(fmt.Sprintf("%d x %d, %d bits, %s %v", columns, rows, bits, tool, args), func(t *testing.T) {
			film := codectest.Film(rows, columns, bits)
			data := codectest.Compress(t, film, rows, columns, bits, tool, args...)
			got, _, err := lossless.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
			require.NoError(t, err)
			codectest.Same(t, got, film, columns)
		})
	}
	for _, bits := range []int{8, 10, 12, 16} {
		for predictor := '1'; predictor <= '7'; predictor++ {
			compare(t, 130, 171, bits, "dcmcjpeg", "+el", "+sv", string(predictor))
		}
		for _, size := range [][2]int{{1, 517}, {517, 1}, {1, 1}, {2, 3}} {
			compare(t, size[0], size[1], bits, "dcmcjpeg", "+e1")
		}
		compare(t, 130, 172, bits, "gdcmconv", "--jpeg")
		compare(t, 130, 172, bits, "dcmcjpeg", "+e1", "+fs", "1") // fragments of 1 kB
	}
}

func TestFaults(t *testing.T) {
	e := encoding{rows: 8, columns: 8, bits: 12, predictor: 1, restart: 2}
	good := encode(codectest.Film(8, 8, 12), e)
	edit := func(find, replace string) []byte {
		require.Equal(t, 1, bytes.Count(good, []byte(find)))
		return bytes.Replace(good, []byte(find), []byte(replace), 1)
	}
	size := codec.Size{Rows: 8, Columns: 8, Bits: 12}
	const frame, scan = "\xFF\xC3\x00\x0B\x0C\x00\x08\x00\x08\x01\x01\x11\x00", "\xFF\xDA\x00\x08\x01\x01\x00\x01\x00\x00"
	for _, c := range []struct {
		name string
		data []byte
		size codec.Size
		kind error
		says string
	}{
		{"empty", nil, size, codec.ErrMalformed, "no start-of-image"},
		{"baseline", edit("\xFF\xC3", "\xFF\xC0"), size, codec.ErrUnsupported, "baseline DCT"},
		{"progressive", edit("\xFF\xC3", "\xFF\xC2"), size, codec.ErrUnsupported, "progressive DCT"},
		{"arithmetic", edit("\xFF\xC3", "\xFF\xCB"), size, codec.ErrUnsupported, "arithmetic"},
		{"three components", edit(frame, "\xFF\xC3\x00\x11\x0C\x00\x08\x00\x08\x03\x01\x11\x00\x02\x11\x00\x03\x11\x00"), size, codec.ErrUnsupported, "3 components"},
		{"two frame headers", edit(frame, frame+frame), size, codec.ErrMalformed, "second frame header"},
		{"other size", good, codec.Size{Rows: 8, Columns: 9, Bits: 12}, codec.ErrMalformed, "8 x 8 pixels where 9 x 8 are declared"},
		{"other precision", good, codec.Size{Rows: 8, Columns: 8, Bits: 8}, codec.ErrMalformed, "12 bits where 8"},
		{"lines after the scan", edit("\x0C\x00\x08\x00\x08", "\x0C\x00\x00\x00\x08"), size, codec.ErrUnsupported, "number of lines"},
		{"predictor 0", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x00\x00\x00"), size, codec.ErrMalformed, "predictor 0"},
		{"predictor 8", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x08\x00\x00"), size, codec.ErrMalformed, "predictor 8"},
		{"point transform", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x01\x00\x0C"), size, codec.ErrMalformed, "point transform"},
		{"no table", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x30\x01\x00\x00"), size, codec.ErrMalformed, "table 3 is missing"},
		{"no frame", edit(frame, ""), size, codec.ErrMalformed, "scan before the frame"},
		{"restart within a row", edit("\xFF\xDD\x00\x04\x00\x10", "\xFF\xDD\x00\x04\x00\x0F"), size, codec.ErrMalformed, "restart interval"},
		{"wrong restart marker", edit("\xFF\xD1", "\xFF\xD2"), size, codec.ErrMalformed, "restart marker 1 is missing"},
		{"no end", edit("\xFF\xD9", ""), size, codec.ErrMalformed, "end-of-image"},
		{"surplus", edit("\xFF\xD9", "\x11\xFF\xD9"), size, codec.ErrMalformed, "go on after the last pixel"},
		{"second scan", edit("\xFF\xD9", scan+"\xFF\xD9"), size, codec.ErrUnsupported, "more than one scan"},
		{"sample beyond the precision", encode(codectest.Noise(8, 8, 16), e), size, codec.ErrMalformed, "beyond 12 bits"},
		{"a large size on a small file", encode(make([]uint16, 65535), encoding{rows: 1, columns: 65535, bits: 12, predictor: 1})[:999], codec.Size{Rows: 1, Columns: 65535, Bits: 16}, codec.ErrMalformed, "end before"},
	} {
		t.Run(c.name, func(t *testing.T) {
			pix, _, err := lossless.Decode(c.data, c.size)
			require.ErrorIs(t, err, c.kind)
			require.ErrorContains(t, err, "lossless: ")
			require.ErrorContains(t, err, c.says)
			require.Nil(t, pix)
		})
	}
	t.Run("comment before the end", func(t *testing.T) {
		_, _, err := lossless.Decode(edit("\xFF\xD9", "\xFF\xFE\x00\x04ab\xFF\xFF\xD9\x00"), size)
		require.NoError(t, err)
	})
}

func TestMemory(t *testing.T) {
	size := codec.Size{Rows: 1500, Columns: 1400, Bits: 16}
	data := codectest.Compress(t, codectest.Film(1500, 1400, 12), 1500, 1400, 12, "dcmcjpeg")
	codectest.BoundMemory(t, lossless.Decode, data, size)
}

func FuzzDecode(f *testing.F) {
	for _, s := range samples {
		data, err := os.ReadFile("testdata/" + s.file)
		require.NoError(f, err)
		f.Add(data, uint8(s.rows), uint8(s.columns), uint8(s.precision))
	}
	e := encoding{rows: 9, columns: 7, bits: 12, predictor: 5, restart: 2}
	f.Add(encode(codectest.Film(9, 7, 12), e), uint8(9), uint8(7), uint8(12))
	f.Fuzz(func(t *testing.T, data []byte, rows, columns, bits uint8) {
		codectest.CheckOutcome(t, lossless.Decode, data, codec.Size{Rows: int(rows), Columns: int(columns), Bits: int(bits)})
	})
}

func BenchmarkDecode(b *testing.B) {
	size := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	film := codectest.Film(size.Rows, size.Columns, 16)
	for predictor := 1; predictor <= 7; predictor++ {
		b.Run(fmt.Sprintf("dcmtk predictor %d", predictor), func(b *testing.B) {
			data := codectest.Compress(b, film, size.Rows, size.Columns, 16, "dcmcjpeg", "+el", "+sv", fmt.Sprint(predictor))
			b.SetBytes(int64(2 * size.Pixels()))
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := lossless.Decode(data, size); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
