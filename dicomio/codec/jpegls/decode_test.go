package jpegls_test

import (
	"bytes"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/jpegls"
)

// standardExample is the worked example of T.87 Annex H.3, written down from
// memory; that its bytes give its samples shows that it was remembered well.
var standardExample = []byte{
	0xFF, 0xD8, 0xFF, 0xF7, 0x00, 0x0B, 0x08, 0x00, 0x04, 0x00, 0x04, 0x01, 0x01, 0x11, 0x00,
	0xFF, 0xDA, 0x00, 0x08, 0x01, 0x01, 0x00, 0x00, 0x00, 0x00,
	0xC0, 0x00, 0x00, 0x6C, 0x80, 0x20, 0x8E, 0x01, 0xC0, 0x00, 0x00, 0x57, 0x40, 0x00, 0x00,
	0x6E, 0xE6, 0x00, 0x00, 0x01, 0xBC, 0x18, 0x00, 0x00, 0x05, 0xD8, 0x00, 0x00, 0x91, 0x60,
	0xFF, 0xD9,
}

func TestStandardExample(t *testing.T) {
	got, info, err := jpegls.Decode(standardExample, codec.Size{Rows: 4, Columns: 4, Bits: 8})
	require.NoError(t, err)
	require.Equal(t, codec.Info{Bits: 8}, info)
	require.Equal(t, []uint16{
		0, 0, 90, 74,
		68, 50, 43, 205,
		64, 145, 145, 145,
		100, 145, 145, 145,
	}, got)
}

// samples are codestreams made by the tools named in testdata/README.md. near is
// the bound on the difference from the film.
var samples = []struct {
	file            string
	bits, precision int
	near            int
}{
	{"dcmtk-8.jls", 8, 8, 0},
	{"dcmtk-12.jls", 12, 16, 0},
	{"dcmtk-12-preset.jls", 12, 12, 0},
	{"dcmtk-16.jls", 16, 16, 0},
	{"gdcm-16.jls", 16, 16, 0},
	{"dcmtk-12-near3.jls", 12, 12, 3},
	{"gdcm-12-near5.jls", 12, 16, 5},
}

const rows, columns = 40, 33 // of the samples

func read(tb testing.TB, file string) []byte {
	tb.Helper()
	data, err := os.ReadFile("testdata/" + file)
	require.NoError(tb, err)
	return data
}

// within checks every sample against the bound of near-lossless coding.
func within(t *testing.T, got, film []uint16, near int) {
	t.Helper()
	require.Len(t, got, len(film))
	largest := 0
	for i, v := range film {
		largest = max(largest, int(v)-int(got[i]), int(got[i])-int(v))
	}
	require.LessOrEqual(t, largest, near)
}

func TestSamples(t *testing.T) {
	for _, s := range samples {
		t.Run(s.file, func(t *testing.T) {
			data := read(t, s.file)
			size := codec.Size{Rows: rows, Columns: columns, Bits: s.precision}
			got, info, err := jpegls.Decode(data, size)
			require.NoError(t, err)
			require.Equal(t, codec.Info{Bits: s.precision, Lossy: s.near > 0}, info)
			within(t, got, codectest.Film(rows, columns, s.bits), s.near)
			codectest.RefuseCut(t, jpegls.Decode, data, size, 1, 1)
			codectest.FillBeforeEnd(t, jpegls.Decode, data, size)
			codectest.SurviveFlips(t, jpegls.Decode, data, size)
		})
	}
}

func TestAgainstTools(t *testing.T) {
	sizes := [][2]int{{130, 171}, {1, 517}, {517, 1}, {1, 1}, {2, 3}}
	for _, bits := range []int{8, 10, 12, 16} {
		for _, size := range sizes {
			film := codectest.Film(size[0], size[1], bits)
			lossless(t, "film", film, size[0], size[1], bits, "dcmcjpls", "+el")
			lossless(t, "film", film, size[0], size[1], bits, "dcmcjpls", "+el", "+pc", "+rs", "3")
			nearLossless(t, "film", film, size[0], size[1], bits, 2)
		}
		film, noise := codectest.Film(130, 172, bits), codectest.Noise(130, 172, bits)
		lossless(t, "film", film, 130, 172, bits, "dcmcjpls", "+el", "+pc", "+t1", "2", "+t2", "9", "+t3", "50", "+rs", "200")
		lossless(t, "film", film, 130, 172, bits, "dcmcjpls", "+el", "+fs", "1") // fragments of 1 kB
		lossless(t, "film", film, 130, 172, bits, "gdcmconv", "--jpegls")
		lossless(t, "noise", noise, 130, 172, bits, "dcmcjpls", "+el", "+pc")
		nearLossless(t, "film", film, 130, 172, bits, 7)
		nearLossless(t, "noise", noise, 130, 172, bits, 1)
	}
}

func lossless(t *testing.T, name string, film []uint16, rows, columns, bits int, tool string, args ...string) {
	t.Run(fmt.Sprintf("%s %d x %d, %d bits, %s %v", name, columns, rows, bits, tool, args), func(t *testing.T) {
		data := codectest.Compress(t, film, rows, columns, bits, tool, args...)
		got, _, err := jpegls.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
		require.NoError(t, err)
		codectest.Same(t, got, film, columns)
	})
}

func nearLossless(t *testing.T, name string, film []uint16, rows, columns, bits, near int) {
	t.Run(fmt.Sprintf("%s %d x %d, %d bits, near %d", name, columns, rows, bits, near), func(t *testing.T) {
		made := codectest.Convert(t, codectest.DICOM(film, rows, columns, bits), "dcmcjpls", "+en", "+md", fmt.Sprint(near))
		want := codectest.Native(t, codectest.Convert(t, made, "dcmdjpls"), len(film), bits)
		data, err := codectest.Frame(made)
		require.NoError(t, err)
		got, info, err := jpegls.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
		require.NoError(t, err)
		require.True(t, info.Lossy)
		codectest.Same(t, got, want, columns)
		within(t, got, film, near)
	})
}

func TestFaults(t *testing.T) {
	good := read(t, "dcmtk-12-preset.jls")
	edit := func(find, replace string) []byte {
		require.Equal(t, 1, bytes.Count(good, []byte(find)), "% x", find)
		return bytes.Replace(good, []byte(find), []byte(replace), 1)
	}
	size := codec.Size{Rows: rows, Columns: columns, Bits: 12}
	const frame, scan = "\xFF\xF7\x00\x0B\x0C\x00\x28\x00\x21\x01\x01\x11\x00", "\xFF\xDA\x00\x08\x01\x01\x00\x00\x00\x00"
	const presets = "\xFF\xF8\x00\x0D\x01\x0F\xFF\x00\x05\x00\x14\x00\x5A\x00\x1F"
	for _, c := range []struct {
		name string
		data []byte
		size codec.Size
		kind error
		says string
	}{
		{"empty", nil, size, codec.ErrMalformed, "no start-of-image"},
		{"lossless JPEG", edit("\xFF\xF7", "\xFF\xC3"), size, codec.ErrUnsupported, "lossless JPEG"},
		{"three components", edit(frame, "\xFF\xF7\x00\x11\x0C\x00\x28\x00\x21\x03\x01\x11\x00\x02\x11\x00\x03\x11\x00"), size, codec.ErrUnsupported, "3 components"},
		{"two frame headers", edit(frame, frame+frame), size, codec.ErrMalformed, "second frame header"},
		{"other size", good, codec.Size{Rows: rows + 1, Columns: columns, Bits: 12}, codec.ErrMalformed, "33 x 41 are declared"},
		{"other precision", good, codec.Size{Rows: rows, Columns: columns, Bits: 8}, codec.ErrMalformed, "12 bits where 8"},
		{"no frame", edit(frame, ""), size, codec.ErrMalformed, "scan before the frame"},
		{"mapping table", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x01\x00\x00\x00"), size, codec.ErrUnsupported, "mapping table"},
		{"mapping table given", edit(presets, "\xFF\xF8\x00\x05\x02\x01\x01"), size, codec.ErrUnsupported, "mapping table"},
		{"oversize", edit(presets, "\xFF\xF8\x00\x05\x04\x01\x01"), size, codec.ErrUnsupported, "oversize"},
		{"preset cut", edit(presets, "\xFF\xF8\x00\x05\x01\x01\x01"), size, codec.ErrMalformed, "3 bytes"},
		{"thresholds out of order", edit(presets, "\xFF\xF8\x00\x0D\x01\x0F\xFF\x00\x25\x00\x14\x00\x5A\x00\x1F"), size, codec.ErrMalformed, "thresholds 37, 20, 90"},
		{"reset of 2", edit(presets, "\xFF\xF8\x00\x0D\x01\x0F\xFF\x00\x05\x00\x14\x00\x5A\x00\x02"), size, codec.ErrMalformed, "reset 2"},
		{"point transform", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x00\x00\x01"), size, codec.ErrUnsupported, "point transform"},
		{"interleave mode", edit(scan, "\xFF\xDA\x00\x08\x01\x01\x00\x00\x03\x00"), size, codec.ErrMalformed, "interleave mode 3"},
		{"near too large", edit(presets+scan, "\xFF\xF8\x00\x0D\x01\x00\x0F\x00\x00\x00\x00\x00\x00\x00\x00"+"\xFF\xDA\x00\x08\x01\x01\x00\x08\x00\x00"), size, codec.ErrMalformed, "bound of 8 for samples to 15"},
		{"restart interval", edit(presets, "\xFF\xDD\x00\x04\x00\x21"), size, codec.ErrUnsupported, "restart intervals"},
		{"no end", good[:len(good)-2], size, codec.ErrMalformed, "the last pixel"},
		{"a large size on a small file", edit("\x0C\x00\x28\x00\x21", "\x0C\xF0\x00\x08\x00"), codec.Size{Rows: 0xF000, Columns: 0x0800, Bits: 16}, codec.ErrMalformed, "end before"},
		{"many columns on a small file", edit("\x0C\x00\x28\x00\x21", "\x0C\x07\xD0\xFF\xFF"), codec.Size{Rows: 2000, Columns: 65535, Bits: 16}, codec.ErrMalformed, "65535 x 2000 pixels in"},
	} {
		t.Run(c.name, func(t *testing.T) {
			pix, _, err := jpegls.Decode(c.data, c.size)
			require.ErrorIs(t, err, c.kind)
			require.ErrorContains(t, err, "jpegls: ")
			require.ErrorContains(t, err, c.says)
			require.Nil(t, pix)
		})
	}
}

func TestMemory(t *testing.T) {
	size := codec.Size{Rows: 1500, Columns: 1400, Bits: 16}
	data := codectest.Compress(t, codectest.Film(1500, 1400, 12), 1500, 1400, 12, "dcmcjpls")
	codectest.BoundMemory(t, jpegls.Decode, data, size)
}

func FuzzDecode(f *testing.F) {
	for _, s := range samples {
		f.Add(read(f, s.file), uint8(rows), uint8(columns), uint8(s.precision))
	}
	f.Add(standardExample, uint8(4), uint8(4), uint8(8))
	f.Fuzz(func(t *testing.T, data []byte, rows, columns, bits uint8) {
		codectest.CheckOutcome(t, jpegls.Decode, data, codec.Size{Rows: int(rows), Columns: int(columns), Bits: int(bits)})
	})
}

func BenchmarkDecode(b *testing.B) {
	size := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	for _, c := range []struct {
		name string
		bits int
		args []string
	}{
		{"16 bits", 16, nil},
		{"12 bits", 12, []string{"+pc"}},
		{"12 bits near 2", 12, []string{"+en", "+md", "2"}},
	} {
		b.Run("dcmtk "+c.name, func(b *testing.B) {
			film := codectest.Film(size.Rows, size.Columns, c.bits)
			data := codectest.Compress(b, film, size.Rows, size.Columns, c.bits, "dcmcjpls", c.args...)
			b.SetBytes(int64(2 * size.Pixels()))
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := jpegls.Decode(data, size); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
