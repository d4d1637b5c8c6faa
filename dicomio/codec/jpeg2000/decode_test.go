package jpeg2000_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/jpeg2000"
)

// openJPEG compresses a film with opj_compress and returns the codestream.
func openJPEG(tb testing.TB, pix []uint16, rows, columns, bits int, args string) []byte {
	tb.Helper()
	pgm := codectest.PGM(pix, rows, columns, bits)
	return codectest.Run(tb, pgm, "in.pgm", "out.j2k", "opj_compress", append(strings.Fields(args), "-i", "IN", "-o", "OUT")...)
}

// reference decodes with opj_decompress.
func reference(tb testing.TB, data []byte, rows, columns int) []uint16 {
	tb.Helper()
	pgm := codectest.Run(tb, data, "in.j2k", "out.pgm", "opj_decompress", "-i", "IN", "-o", "OUT")
	pix, err := codectest.ReadPGM(pgm, rows*columns)
	require.NoError(tb, err)
	return pix
}

// forms are arguments of opj_compress. Those with -r or -I are lossy.
var forms = []string{
	"",
	"-n 1",
	"-n 2",
	"-n 7",
	"-b 16,16",
	"-b 64,16",
	"-b 4,64",
	"-b 4,4",
	"-p RLCP", "-p RPCL", "-p PCRL", "-p CPRL",
	"-c [64,64],[32,32]", "-c [32,64],[16,16],[128,32] -p RPCL", "-c [32,32] -p PCRL -n 4", "-c [64,128] -p CPRL",
	"-t 50,40", "-t 33,71 -n 4 -p RPCL", "-t 64,64 -T 10,3 -d 17,9", "-d 5,3", "-d 1,1 -n 3", "-t 20,20 -n 4 -TP R -p RPCL",
	"-M 1", "-M 2", "-M 4", "-M 8", "-M 16", "-M 32", "-M 5", "-M 63", "-M 7 -r 8,4,1",
	"-SOP", "-EPH", "-SOP -EPH -p PCRL -c [64,64]",
	"-r 40,20,10,1", "-r 40,10,3", "-r 20",
	"-I", "-I -r 10", "-I -r 30,10,5 -n 3", "-I -t 50,40 -d 3,5", "-I -M 1 -r 6", "-I -c [64,64] -p RPCL -r 12", "-I -n 1", "-I -n 7 -b 32,32",
}

func TestForms(t *testing.T) {
	for _, form := range forms {
		compare(t, 117, 143, 12, form)
	}
	for _, bits := range []int{8, 10, 16} {
		for _, form := range []string{"", "-M 63", "-t 50,40 -r 8", "-I", "-I -r 10"} {
			compare(t, 117, 143, bits, form)
		}
	}
	for _, form := range []string{"-ROI c=0,U=1", "-ROI c=0,U=5 -M 63", "-ROI c=0,U=14 -t 50,40", "-ROI c=0,U=15 -b 4,64", "-I -ROI c=0,U=7"} {
		compare(t, 117, 143, 12, form)
	}
	for _, size := range [][2]int{{1, 77}, {77, 1}, {1, 1}, {2, 3}, {3, 2}, {5, 200}} {
		for _, form := range []string{"-n 1", "-I -n 1", "-n 1 -d 1,1", "-n 2", "-I -n 2", "-n 2 -d 1,1", "-I -n 2 -d 3,2"} {
			if min(size[0], size[1]) > 1 || strings.Contains(form, "-n 1") { // else refused by opj_compress
				compare(t, size[0], size[1], 12, form)
			}
		}
	}
}

func compare(t *testing.T, rows, columns, bits int, form string) {
	t.Run(fmt.Sprintf("%d x %d, %d bits %s", columns, rows, bits, form), func(t *testing.T) {
		film := codectest.Film(rows, columns, bits)
		data := openJPEG(t, film, rows, columns, bits, form)
		got, info, err := jpeg2000.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
		require.NoError(t, err)
		require.Equal(t, codec.Info{Bits: bits, Lossy: strings.Contains(form, "-I")}, info)
		if strings.Contains(form, "-r") || strings.Contains(form, "-I") {
			film = reference(t, data, rows, columns)
		}
		codectest.Same(t, got, film, columns)
	})
}

// samples are codestreams made by the tools named in testdata/README.md, with the
// SHA-256 of the samples (16 bits, little endian) that opj_decompress 2.5.0
// gives for the lossy ones.
var samples = []struct {
	file      string
	bits      int
	precision int
	sum       string
}{
	{"gdcm-8.j2k", 8, 8, ""},
	{"gdcm-12.j2k", 12, 16, ""},
	{"gdcm-16.j2k", 16, 16, ""},
	{"opj-12-modes.j2k", 12, 12, ""},
	{"opj-12-tiles.j2k", 12, 12, ""},
	{"opj-12-layers.j2k", 12, 12, ""},
	{"opj-12.jp2", 12, 12, ""},
	{"opj-12-97.j2k", 12, 12, "8e1d8f7170dfe4d3b19ce6509a15b88b3570f86364b26eeb7f756a2b74e19556"},
	{"opj-12-97-tiles.j2k", 12, 12, "c2f2f21707401365ecbc67035ce4aa9fdcda59bd59abfd7592b3a1e8fb5a2a93"},
	{"ht-8.j2k", 8, 8, ""},
	{"ht-12.j2k", 12, 12, ""},
	{"ht-16.j2k", 16, 16, ""},
	{"ht-12-97.j2k", 12, 12, "bc2a22e2a0c4b64f250f10f08f209d4234eacd078e4a00e913ceebfc9bb14ea0"},
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
			size := codec.Size{Rows: rows, Columns: columns, Bits: s.precision}
			got, info, err := jpeg2000.Decode(data, size)
			require.NoError(t, err)
			require.Equal(t, codec.Info{Bits: s.precision, Lossy: s.sum != ""}, info)
			film := codectest.Film(rows, columns, s.bits)
			if s.sum == "" {
				codectest.Same(t, got, film, columns)
			} else {
				require.Equal(t, s.sum, sum(got))
				for i := range film {
					require.InDelta(t, film[i], got[i], 300)
				}
			}
			codectest.RefuseCut(t, jpeg2000.Decode, data, size, 7, 1)
			codectest.SurviveFlips(t, jpeg2000.Decode, data, size)
		})
	}
}

// TestSums shows that the sums above are opj_decompress's.
func TestSums(t *testing.T) {
	for _, s := range samples {
		if s.sum != "" {
			t.Run(s.file, func(t *testing.T) {
				require.Equal(t, s.sum, sum(reference(t, read(t, s.file), rows, columns)))
			})
		}
	}
}

func TestAgainstGDCM(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 16} {
		for name, film := range map[string][]uint16{"film": codectest.Film(130, 172, bits), "noise": codectest.Noise(130, 172, bits)} {
			t.Run(fmt.Sprintf("%s of %d bits", name, bits), func(t *testing.T) {
				data := codectest.Compress(t, film, 130, 172, bits, "gdcmconv", "--j2k")
				got, _, err := jpeg2000.Decode(data, codec.Size{Rows: 130, Columns: 172, Bits: 16})
				require.NoError(t, err)
				codectest.Same(t, got, film, 172)
			})
		}
	}
}

// TestSigned reads the same codestream as one of signed samples, which have no
// level shift.
func TestSigned(t *testing.T) {
	data := read(t, "opj-12-modes.j2k")
	data[bytes.Index(data, []byte{0xFF, 0x51})+4+36] |= 0x80 // Ssiz
	got, info, err := jpeg2000.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 16})
	require.NoError(t, err)
	require.Equal(t, codec.Info{Bits: 12, Signed: true}, info)
	for i, v := range codectest.Film(rows, columns, 12) {
		require.Equal(t, int(v)-2048, int(int16(got[i])))
	}
}

func TestFaults(t *testing.T) {
	good := read(t, "opj-12-modes.j2k")
	size := codec.Size{Rows: rows, Columns: columns, Bits: 12}
	at := func(find string) int {
		require.Equal(t, 1, bytes.Count(good, []byte(find)), "% x", find)
		return bytes.Index(good, []byte(find))
	}
	siz, cod, qcd, sot := at("\xFF\x51\x00\x29"), at("\xFF\x52\x00\x0C"), at("\xFF\x5C\x00"), at("\xFF\x90\x00\x0A")
	set := func(offset int, values ...byte) []byte {
		return slices.Replace(slices.Clone(good), offset, offset+len(values), values...)
	}
	insert := func(offset int, values ...byte) []byte {
		return slices.Insert(slices.Clone(good), offset, values...)
	}
	for _, c := range []struct {
		name string
		data []byte
		size codec.Size
		kind error
		says string
	}{
		{"empty", nil, size, codec.ErrMalformed, "no start-of-codestream"},
		{"JPEG", []byte("\xFF\xD8\xFF\xD9"), size, codec.ErrMalformed, "no start-of-codestream"},
		{"header only", append(slices.Clone(good[:sot]), 0xFF, 0xD9), size, codec.ErrMalformed, "tile 1 of 1 is missing"},
		{"other size", good, codec.Size{Rows: rows, Columns: columns + 1, Bits: 12}, codec.ErrMalformed, "33 x 40 pixels where 34 x 40"},
		{"other precision", good, codec.Size{Rows: rows, Columns: columns, Bits: 8}, codec.ErrMalformed, "12 bits where 8"},
		{"capabilities of Part 2", insert(cod, 0xFF, 0x50, 0, 8, 0x40, 0, 0, 0, 0, 0), size, codec.ErrUnsupported, "other parts of JPEG 2000 (40000000)"},
		{"capabilities cut", insert(cod, 0xFF, 0x50, 0, 4, 0, 2), size, codec.ErrMalformed, "capabilities of 2 bytes"},
		{"some blocks high-throughput", set(cod+12, 0xC0), size, codec.ErrUnsupported, "some are high-throughput"},
		{"high-throughput blocks with bypass", set(cod+12, 0x41), size, codec.ErrMalformed, "blocks of style 41"},
		{"three components", append(append(slices.Clone(good[:siz+2]), 0, 47), append(slices.Replace(slices.Clone(good[siz+4:cod]), 34, 36, 0, 3), append([]byte{11, 1, 1, 11, 1, 1}, good[cod:]...)...)...), size, codec.ErrUnsupported, "3 components"},
		{"region of another style", insert(sot, 0xFF, 0x5E, 0, 5, 0, 1, 7), size, codec.ErrUnsupported, "region of interest of style 1"},
		{"region shifted far", insert(sot, 0xFF, 0x5E, 0, 5, 0, 0, 200), size, codec.ErrUnsupported, "shifted by 200"},
		{"region cut", insert(sot, 0xFF, 0x5E, 0, 4, 0, 0), size, codec.ErrMalformed, "region of interest of 2 bytes"},
		{"progression change", insert(sot, 0xFF, 0x5F, 0, 9, 0, 0, 0, 1, 1, 1, 0), size, codec.ErrUnsupported, "progression order change"},
		{"packed headers", insert(sot, 0xFF, 0x60, 0, 4, 0, 0), size, codec.ErrUnsupported, "packed packet headers"},
		{"unknown marker", insert(sot, 0xFF, 0x70, 0, 4, 0, 0), size, codec.ErrMalformed, "marker FF70"},
		{"progression 5", set(cod+5, 5), size, codec.ErrMalformed, "progression order 5"},
		{"no layers", set(cod+6, 0, 0), size, codec.ErrMalformed, "no quality layer"},
		{"33 levels", set(cod+9, 33), size, codec.ErrMalformed, "33 decomposition levels"},
		{"large blocks", set(cod+10, 6, 6), size, codec.ErrMalformed, "code-blocks of 2^8 x 2^8"},
		{"unknown wavelet", set(cod+13, 2), size, codec.ErrUnsupported, "wavelet transform 2"},
		{"quantization 3", set(qcd+4, 0x43), size, codec.ErrMalformed, "quantization style 3"},
		{"levels without steps", set(cod+9, 5), size, codec.ErrMalformed, "7 quantization steps for 5 levels"},
		{"second part first", set(sot+10, 1), size, codec.ErrMalformed, "part 1 where part 0 is due"},
		{"tile 2", set(sot+4, 0, 1), size, codec.ErrMalformed, "tile 2 of 1"},
		{"long tile-part", set(sot+6, 1, 0, 0, 0), size, codec.ErrMalformed, "runs past the end"},
		{"tiny tiles", set(siz+22, 0, 0, 0, 0), size, codec.ErrMalformed, "first tile"},
		{"file wrapper without codestream", read(t, "opj-12.jp2")[:80], size, codec.ErrMalformed, "no codestream"},
		{"file wrapper with a long box", append(slices.Clone(read(t, "opj-12.jp2")[:12]), 1, 0, 0, 0, 'f', 't', 'y', 'p'), size, codec.ErrMalformed, "runs past the end"},
		{"no end", good[:len(good)-2], size, codec.ErrMalformed, "end-of-codestream"},
	} {
		t.Run(c.name, func(t *testing.T) {
			pix, _, err := jpeg2000.Decode(c.data, c.size)
			require.ErrorIs(t, err, c.kind)
			require.ErrorContains(t, err, "jpeg2000: ")
			require.ErrorContains(t, err, c.says)
			require.Nil(t, pix)
		})
	}
	t.Run("a large size on a small file", func(t *testing.T) {
		_, _, err := jpeg2000.Decode(good, codec.Size{Rows: 10000, Columns: 10000, Bits: 16})
		require.ErrorIs(t, err, codec.ErrMalformed)
	})
	t.Run("capabilities of no meaning", func(t *testing.T) {
		_, _, err := jpeg2000.Decode(set(siz+4, 0xFE, 0xFF), size)
		require.NoError(t, err)
	})
	t.Run("zeros before the end", func(t *testing.T) {
		got, _, err := jpeg2000.Decode(slices.Insert(slices.Clone(good), len(good)-2, 0, 0, 0), size)
		require.NoError(t, err)
		codectest.Same(t, got, codectest.Film(rows, columns, 12), columns)
		_, _, err = jpeg2000.Decode(slices.Insert(slices.Clone(good), len(good)-2, 0, 1), size)
		require.ErrorIs(t, err, codec.ErrMalformed)
	})
	t.Run("tile-part up to the end", func(t *testing.T) {
		got, _, err := jpeg2000.Decode(append(set(sot+6, 0, 0, 0, 0), 0), size)
		require.NoError(t, err)
		codectest.Same(t, got, codectest.Film(rows, columns, 12), columns)
	})
}

func TestMemory(t *testing.T) {
	size := codec.Size{Rows: 2400, Columns: 2000, Bits: 16}
	data := codectest.Compress(t, codectest.Film(2400, 2000, 12), 2400, 2000, 12, "gdcmconv", "--j2k")
	codectest.BoundMemory(t, jpeg2000.Decode, data, size)
}

func FuzzDecode(f *testing.F) {
	for _, s := range samples {
		f.Add(read(f, s.file), uint8(rows), uint8(columns), uint8(s.precision))
	}
	f.Fuzz(func(t *testing.T, data []byte, rows, columns, bits uint8) {
		codectest.CheckOutcome(t, jpeg2000.Decode, data, codec.Size{Rows: int(rows), Columns: int(columns), Bits: int(bits)})
	})
}

func BenchmarkDecode(b *testing.B) {
	size := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	film := codectest.Film(size.Rows, size.Columns, 16)
	run := func(name string, data []byte) {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(2 * size.Pixels()))
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := jpeg2000.Decode(data, size); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	run("gdcm reversible", codectest.Compress(b, film, size.Rows, size.Columns, 16, "gdcmconv", "--j2k"))
	run("OpenJPEG irreversible 5 to 1", openJPEG(b, film, size.Rows, size.Columns, 16, "-I -r 5"))
}
