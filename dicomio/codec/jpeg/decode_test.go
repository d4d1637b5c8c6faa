package jpeg_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	stdimage "image"
	stdjpeg "image/jpeg"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/jpeg"
)

const (
	baseline = "1.2.840.10008.1.2.4.50"
	extended = "1.2.840.10008.1.2.4.51"
)

// samples are codestreams made by the tools named in testdata/README.md, with
// the SHA-256 of the samples (16 bits, little endian) that dcmdjpeg 3.6.7 gives
// for them and the largest difference from the film.
var samples = []struct {
	file       string
	bits       int
	syntax     string
	sum        string
	difference int
}{
	{"dcmtk-8.jpg", 8, baseline, "8c45f30bb2a0db529d0d3beea9c8e07dc282f328c83b9d6bea48ea2fbb196ead", 24},
	{"dcmtk-12.jpg", 12, extended, "f4618764ece654a0bd7ceedd2e9b8c238a9d82d520a9f37532f9b8d3e6a31c70", 160},
	{"gdcm-8.jpg", 8, baseline, "0e29b0d2e00c4b3d607b057ceb6ffa51d5693376856d05d0bc43a57637344691", 40},
	{"restart-8.jpg", 8, baseline, "122b9b492b03d8e3dbd72e22915be9177508470debdfe312631d4601764bc9a6", 40},
}

const rows, columns = 40, 33 // of the samples

func read(tb testing.TB, file string) []byte {
	tb.Helper()
	data, err := os.ReadFile("testdata/" + file)
	require.NoError(tb, err)
	return data
}

func sum(pix []uint16) string {
	var b []byte
	for _, v := range pix {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return fmt.Sprintf("%x", sha256.Sum256(b))
}

func TestSamples(t *testing.T) {
	for _, s := range samples {
		t.Run(s.file, func(t *testing.T) {
			data := read(t, s.file)
			size := codec.Size{Rows: rows, Columns: columns, Bits: s.bits}
			got, info, err := jpeg.Decode(data, size)
			require.NoError(t, err)
			require.Equal(t, codec.Info{Bits: s.bits, Lossy: true}, info)
			require.Equal(t, s.sum, sum(got))
			for i, v := range codectest.Film(rows, columns, s.bits) {
				require.InDelta(t, v, got[i], float64(s.difference), "sample %d", i)
			}
			codectest.RefuseCut(t, jpeg.Decode, data, size, 1, 1)
			codectest.FillBeforeEnd(t, jpeg.Decode, data, size)
			codectest.SurviveFlips(t, jpeg.Decode, data, size)
		})
	}
}

// TestSums shows that the sums above are dcmdjpeg's.
func TestSums(t *testing.T) {
	for _, s := range samples {
		t.Run(s.file, func(t *testing.T) {
			file := codectest.Encapsulated(read(t, s.file), rows, columns, s.bits, s.syntax)
			native := codectest.Native(t, codectest.Convert(t, file, "dcmdjpeg"), rows*columns, s.bits)
			require.Equal(t, s.sum, sum(native))
		})
	}
}

// TestAgainstStandardLibrary compares with image/jpeg, whose inverse transform
// rounds differently.
func TestAgainstStandardLibrary(t *testing.T) {
	for _, size := range [][2]int{{64, 64}, {61, 75}, {1, 90}, {90, 1}, {1, 1}} {
		for _, quality := range []int{30, 75, 100} {
			t.Run(fmt.Sprintf("%v at %d", size, quality), func(t *testing.T) {
				rows, columns := size[0], size[1]
				grey := stdimage.NewGray(stdimage.Rect(0, 0, columns, rows))
				for i, v := range codectest.Film(rows, columns, 8) {
					grey.Pix[i] = byte(v)
				}
				var b bytes.Buffer
				require.NoError(t, stdjpeg.Encode(&b, grey, &stdjpeg.Options{Quality: quality}))
				got, _, err := jpeg.Decode(b.Bytes(), codec.Size{Rows: rows, Columns: columns, Bits: 8})
				require.NoError(t, err)
				peer, err := stdjpeg.Decode(&b)
				require.NoError(t, err)
				for i, v := range got {
					require.InDelta(t, peer.(*stdimage.Gray).GrayAt(i%columns, i/columns).Y, v, 1)
				}
			})
		}
	}
}

func TestAgainstTools(t *testing.T) {
	compare := func(t *testing.T, rows, columns, bits int, tool string, args ...string) {
		t.Run(fmt.Sprintf("%d x %d, %d bits, %s %v", columns, rows, bits, tool, args), func(t *testing.T) {
			film := codectest.Film(rows, columns, bits)
			made := codectest.Convert(t, codectest.DICOM(film, rows, columns, bits), tool, args...)
			want := codectest.Native(t, codectest.Convert(t, made, "dcmdjpeg"), len(film), bits)
			data, err := codectest.Frame(made)
			require.NoError(t, err)
			got, _, err := jpeg.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
			require.NoError(t, err)
			codectest.Same(t, got, want, columns)
		})
	}
	for _, quality := range []string{"5", "50", "90", "100"} {
		for _, size := range [][2]int{{160, 203}, {1, 517}, {517, 1}, {1, 1}, {9, 8}} {
			compare(t, size[0], size[1], 8, "dcmcjpeg", "+eb", "+q", quality)
			compare(t, size[0], size[1], 8, "dcmcjpeg", "+ee", "+q", quality)
			compare(t, size[0], size[1], 12, "dcmcjpeg", "+ee", "+q", quality)
		}
		compare(t, 160, 204, 8, "gdcmconv", "--jpeg", "--lossy", "-q", quality)
	}
	compare(t, 160, 204, 12, "dcmcjpeg", "+ee", "+fs", "1") // fragments of 1 kB
}

func TestRestartIntervals(t *testing.T) {
	const rows, columns = 70, 93
	film := codectest.PGM(codectest.Film(rows, columns, 8), rows, columns, 8)
	for _, interval := range []string{"1B", "5B", "1", "3"} {
		t.Run(interval, func(t *testing.T) {
			data := codectest.Run(t, film, "in.pgm", "out.jpg", "cjpeg", "-grayscale", "-restart", interval, "-outfile", "OUT", "IN")
			file := codectest.Encapsulated(data, rows, columns, 8, baseline)
			want := codectest.Native(t, codectest.Convert(t, file, "dcmdjpeg"), rows*columns, 8)
			got, _, err := jpeg.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 8})
			require.NoError(t, err)
			codectest.Same(t, got, want, columns)
		})
	}
}

func TestFaults(t *testing.T) {
	good := read(t, "restart-8.jpg")
	edit := func(find, replace string) []byte {
		require.Equal(t, 1, bytes.Count(good, []byte(find)), "% x", find)
		return bytes.Replace(good, []byte(find), []byte(replace), 1)
	}
	size := codec.Size{Rows: rows, Columns: columns, Bits: 8}
	const frame, scan = "\xFF\xC0\x00\x0B\x08\x00\x28\x00\x21\x01\x01\x11\x00", "\xFF\xDA\x00\x08\x01\x01\x00\x00\x3F\x00"
	for _, c := range []struct {
		name string
		data []byte
		size codec.Size
		kind error
		says string
	}{
		{"empty", nil, size, codec.ErrMalformed, "no start-of-image"},
		{"lossless", edit("\xFF\xC0", "\xFF\xC3"), size, codec.ErrUnsupported, "lossless"},
		{"sequential scan of a progressive frame", edit("\xFF\xC0", "\xFF\xC2"), size, codec.ErrMalformed, "scan of coefficients 0 to 63"},
		{"arithmetic", edit("\xFF\xC0", "\xFF\xCA"), size, codec.ErrUnsupported, "arithmetic progressive"},
		{"arithmetic", edit("\xFF\xC0", "\xFF\xC9"), size, codec.ErrUnsupported, "arithmetic"},
		{"three components", edit(frame, "\xFF\xC0\x00\x11\x08\x00\x28\x00\x21\x03\x01\x11\x00\x02\x11\x00\x03\x11\x00"), size, codec.ErrUnsupported, "3 components"},
		{"two frame headers", edit(frame, frame+frame), size, codec.ErrMalformed, "second frame header"},
		{"other size", good, codec.Size{Rows: rows, Columns: columns + 1, Bits: 8}, codec.ErrMalformed, "34 x 40 are declared"},
		{"baseline of 12 bits", edit(frame, "\xFF\xC0\x00\x0B\x0C\x00\x28\x00\x21\x01\x01\x11\x00"), codec.Size{Rows: rows, Columns: columns, Bits: 16}, codec.ErrMalformed, "DCT of 12 bits"},
		{"extended of 10 bits", edit(frame, "\xFF\xC1\x00\x0B\x0A\x00\x28\x00\x21\x01\x01\x11\x00"), codec.Size{Rows: rows, Columns: columns, Bits: 16}, codec.ErrMalformed, "DCT of 10 bits"},
		{"gdcm's DCT of 16 bits", read(t, "gdcm-dct16.jpg"), codec.Size{Rows: rows, Columns: columns, Bits: 16}, codec.ErrMalformed, "DCT of 16 bits"},
		{"some coefficients", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x00\x05\x00"), size, codec.ErrMalformed, "0 to 5 only"},
		{"no Huffman table", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x11\x00\x3F\x00"), size, codec.ErrMalformed, "table 1 or 1 is missing"},
		{"no quantizer", edit(frame, "\xFF\xC0\x00\x0B\x08\x00\x28\x00\x21\x01\x01\x11\x02"), size, codec.ErrMalformed, "quantization table 2"},
		{"wrong restart marker", edit("\xFF\xD1", "\xFF\xD2"), size, codec.ErrMalformed, "restart marker 1 is missing"},
		{"no end", edit("\xFF\xD9", ""), size, codec.ErrMalformed, "end-of-image"},
		{"surplus", edit("\xFF\xD9", "\x11\xFF\xD9"), size, codec.ErrMalformed, "go on after the last pixel"},
		{"a large size on a small file", edit(frame, "\xFF\xC0\x00\x0B\x08\x27\x0F\x27\x0F\x01\x01\x11\x00"), codec.Size{Rows: 9999, Columns: 9999, Bits: 8}, codec.ErrMalformed, "end before"},
	} {
		t.Run(c.name, func(t *testing.T) {
			pix, _, err := jpeg.Decode(c.data, c.size)
			require.ErrorIs(t, err, c.kind)
			require.ErrorContains(t, err, "jpeg: ")
			require.ErrorContains(t, err, c.says)
			require.Nil(t, pix)
		})
	}
}

func TestMemory(t *testing.T) {
	size := codec.Size{Rows: 1500, Columns: 1400, Bits: 16}
	data := codectest.Compress(t, codectest.Film(1500, 1400, 12), 1500, 1400, 12, "dcmcjpeg", "+ee")
	codectest.BoundMemory(t, jpeg.Decode, data, size)
}

// TestLastCoefficientLeftOut reads a scan header as some encoders write it.
func TestLastCoefficientLeftOut(t *testing.T) {
	data := read(t, "dcmtk-12.jpg")
	at := bytes.Index(data, []byte("\xFF\xDA\x00\x08"))
	data[at+8] = 0
	got, _, err := jpeg.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 12})
	require.NoError(t, err)
	require.Equal(t, samples[1].sum, sum(got))
}

func FuzzDecode(f *testing.F) {
	for _, s := range samples {
		f.Add(read(f, s.file), uint8(rows), uint8(columns), uint8(s.bits))
	}
	f.Add(read(f, "progressive-8.jpg"), uint8(rows), uint8(columns), uint8(8))
	f.Fuzz(func(t *testing.T, data []byte, rows, columns, bits uint8) {
		codectest.CheckOutcome(t, jpeg.Decode, data, codec.Size{Rows: int(rows), Columns: int(columns), Bits: int(bits)})
	})
}

func BenchmarkDecode(b *testing.B) {
	size := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	for _, c := range []struct {
		bits int
		mode string
	}{{8, "+eb"}, {12, "+ee"}} {
		b.Run(fmt.Sprintf("dcmtk %d bits", c.bits), func(b *testing.B) {
			film := codectest.Film(size.Rows, size.Columns, c.bits)
			data := codectest.Compress(b, film, size.Rows, size.Columns, c.bits, "dcmcjpeg", c.mode)
			b.SetBytes(int64(2 * size.Pixels()))
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := jpeg.Decode(data, size); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
