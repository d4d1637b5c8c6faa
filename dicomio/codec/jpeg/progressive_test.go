package jpeg_test

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/internal/codectest"
	"linerwatch/dicomio/codec/jpeg"
)

// scripts are orders of scans in the words of cjpeg: component, coefficients, bits
// that came before and that are left.
var scripts = map[string]string{
	"usual":      "",
	"two scans":  "0: 0-0, 0, 0;\n0: 1-63, 0, 0;",
	"by band":    "0: 0-0, 0, 1;\n0: 0-0, 1, 0;\n0: 1-5, 0, 0;\n0: 6-20, 0, 0;\n0: 21-63, 0, 0;",
	"bit by bit": "0: 0-0, 0, 3;\n0: 1-63, 0, 4;\n0: 1-63, 4, 3;\n0: 0-0, 3, 2;\n0: 1-63, 3, 2;\n0: 1-63, 2, 1;\n0: 1-63, 1, 0;\n0: 0-0, 2, 1;\n0: 0-0, 1, 0;",
}

// progress is a film as cjpeg makes it progressive.
func progress(tb testing.TB, rows, columns, quality int, script string, args ...string) []byte {
	args = append([]string{"-grayscale", "-progressive", "-quality", fmt.Sprint(quality)}, args...)
	film := codectest.PGM(codectest.Film(rows, columns, 8), rows, columns, 8)
	if script == "" {
		return codectest.Run(tb, film, "in.pgm", "out.jpg", "cjpeg", append(args, "-outfile", "OUT", "IN")...)
	}
	// The script goes before the film in one file, and a shell parts them.
	both := append([]byte(script+"\n"), film...)
	cut := fmt.Sprintf("head -c %d IN >IN.scans && tail -c %d IN | cjpeg %s -scans IN.scans -outfile OUT", len(script)+1, len(film), strings.Join(args, " "))
	return codectest.Run(tb, both, "in.pgm", "out.jpg", "sh", "-c", cut)
}

// TestProgressive compares with djpeg, whose inverse transform is the same.
func TestProgressive(t *testing.T) {
	for name, script := range scripts {
		for _, quality := range []int{20, 75, 100} {
			for _, size := range [][2]int{{61, 75}, {130, 172}, {8, 9}, {1, 1}} {
				for _, args := range [][]string{nil, {"-restart", "3B"}} {
					t.Run(fmt.Sprintf("%s %v at %d %v", name, size, quality, args), func(t *testing.T) {
						rows, columns := size[0], size[1]
						data := progress(t, rows, columns, quality, script, args...)
						want, err := codectest.ReadPGM(codectest.Run(t, data, "in.jpg", "out.pgm", "djpeg", "-dct", "int", "-pnm", "-outfile", "OUT", "IN"), rows*columns)
						require.NoError(t, err)
						got, info, err := jpeg.Decode(data, codec.Size{Rows: rows, Columns: columns, Bits: 8})
						require.NoError(t, err)
						require.Equal(t, codec.Info{Bits: 8, Lossy: true, Progressive: true}, info)
						codectest.Same(t, got, want, columns)
					})
				}
			}
		}
	}
}

// progressiveSum is of what djpeg gives for progressive-8.jpg, and for restart-8.jpg
// too, which has the same coefficients.
const progressiveSum = "122b9b492b03d8e3dbd72e22915be9177508470debdfe312631d4601764bc9a6"

func TestProgressiveSample(t *testing.T) {
	data := read(t, "progressive-8.jpg")
	size := codec.Size{Rows: rows, Columns: columns, Bits: 8}
	got, info, err := jpeg.Decode(data, size)
	require.NoError(t, err)
	require.True(t, info.Progressive)
	require.Equal(t, progressiveSum, sum(got))
	codectest.RefuseCut(t, jpeg.Decode, data, size, 1, 1)
	codectest.FillBeforeEnd(t, jpeg.Decode, data, size)
	codectest.SurviveFlips(t, jpeg.Decode, data, size)
}

// scansOf parts a progressive codestream: what stands before its first scan, and
// the scans with the tables before each.
func scansOf(data []byte) (head []byte, scans [][]byte) {
	cuts := []int{}
	for p := 0; p+1 < len(data); p++ {
		if data[p] == 0xFF && data[p+1] == 0xC4 {
			cuts = append(cuts, p)
		}
	}
	for i, p := range cuts {
		end := len(data) - 2
		if i+1 < len(cuts) {
			end = cuts[i+1]
		}
		scans = append(scans, data[p:end])
	}
	return data[:cuts[0]], scans
}

func TestProgressiveFaults(t *testing.T) {
	size := codec.Size{Rows: rows, Columns: columns, Bits: 8}
	head, scans := scansOf(read(t, "progressive-8.jpg"))
	put := func(scans ...[]byte) []byte {
		return append(bytes.Join(append([][]byte{head}, scans...), nil), 0xFF, 0xD9)
	}
	_, _, err := jpeg.Decode(put(scans...), size)
	require.NoError(t, err)
	last := len(scans) - 1
	for name, c := range map[string]struct {
		data []byte
		says string
	}{
		"last scan missing":  {put(scans[:last]...), "before all bits of coefficient"},
		"first scan missing": {put(scans[1:]...), "before the first"},
		"a scan twice":       {put(slices.Insert(slices.Clone(scans), 1, scans[0])...), "where others are due"},
		"no scan":            {put(), "ends before its scan"},
		"band of DC and AC":  {bytes.Replace(put(scans...), []byte{0xFF, 0xDA, 0, 8, 1, 1, 0, 0, 0}, []byte{0xFF, 0xDA, 0, 8, 1, 1, 0, 0, 5}, 1), "scan of coefficients 0 to 5"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := jpeg.Decode(c.data, size)
			require.ErrorIs(t, err, codec.ErrMalformed)
			require.ErrorContains(t, err, c.says)
		})
	}
}

// TestManyScans: each coefficient sent bit by bit is in order by the standard, and
// so many scans that no film has them; they are not gone through.
func TestManyScans(t *testing.T) {
	var script strings.Builder
	script.WriteString("0: 0-0, 0, 0;\n")
	for k := 1; k < 45; k++ { // cjpeg takes 100 scans at most
		fmt.Fprintf(&script, "0: %d-%d, 0, 1;\n0: %d-%d, 1, 0;\n", k, k, k, k)
	}
	script.WriteString("0: 45-63, 0, 0;\n")
	data := progress(t, 1000, 1000, 75, script.String())
	require.Equal(t, codec.MaxScans+1, jpeg.Scans(data))
	start := time.Now()
	_, _, err := jpeg.Decode(data, codec.Size{Rows: 1000, Columns: 1000, Bits: 8})
	require.ErrorIs(t, err, codec.ErrUnsupported)
	require.ErrorContains(t, err, "more than 42 scans")
	require.Less(t, time.Since(start), 50*time.Millisecond)
}
