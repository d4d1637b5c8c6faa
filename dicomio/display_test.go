package dicomio

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ramp is a file with every stored value of so many bits once, and more elements.
func ramp(bits uint16, photometric string, signed uint16, more ...el) []byte {
	le := binary.LittleEndian
	columns := uint16(1) << (bits / 2)
	rows := uint16(1) << (bits - bits/2)
	els := append(image16(le, rows, columns, 16, bits, bits-1, signed, photometric), more...)
	var pix []byte
	for v := range 1 << bits {
		if signed == 1 {
			v -= 1 << (bits - 1)
		}
		pix = le.AppendUint16(pix, uint16(v))
	}
	els = append(els, el{0x7FE00010, "OW", pix})
	slices.SortStableFunc(els, func(a, b el) int { return int(int64(a.tag) - int64(b.tag)) })
	return dicomFile(explicitLittle, dataSet(le, false, els...))
}

func words(v ...int) (b []byte) {
	for _, n := range v {
		b = binary.LittleEndian.AppendUint16(b, uint16(n))
	}
	return b
}

// lut is a sequence with one look-up table.
func lut(tag uint32, first, bits int, data ...int) el {
	set := dataSet(binary.LittleEndian, false,
		el{0x00283002, "US", words(len(data), first, bits)}, text(0x00283003, "LO", "curve"), el{0x00283006, "OW", words(data...)})
	return el{tag, "SQ", append(binary.LittleEndian.AppendUint32([]byte{0xFE, 0xFF, 0x00, 0xE0}, uint32(len(set))), set...)}
}

// curve has n entries that rise as a square.
func curve(n, bits int) []int {
	data := make([]int, n)
	for i := range data {
		data[i] = i * i * (1<<bits - 1) / ((n - 1) * (n - 1))
	}
	return data
}

func reversed(v []int) []int {
	slices.Reverse(v)
	return v
}

// Rendered greys are those of dcmtk's dcm2pnm within one level.
func TestDisplayAgainstDCMTK(t *testing.T) {
	window := func(c, w, function string) []el {
		els := []el{text(0x00281050, "DS", c), text(0x00281051, "DS", w)}
		if function != "" {
			els = append(els, text(0x00281056, "CS", function))
		}
		return els
	}
	rescale := func(slope, intercept string) []el {
		return []el{text(0x00281052, "DS", intercept), text(0x00281053, "DS", slope)}
	}
	for name, c := range map[string]struct {
		bits        uint16
		photometric string
		signed      uint16
		els         []el
		args        []string
		voi         func(*Film) VOI
	}{
		"full range":               {12, "MONOCHROME2", 0, nil, nil, nil},
		"full range, MONOCHROME1":  {12, "MONOCHROME1", 0, nil, nil, nil},
		"full range, 16 bits":      {16, "MONOCHROME2", 0, nil, nil, nil},
		"linear":                   {12, "MONOCHROME2", 0, window("2000", "1000", ""), []string{"+Wi", "1"}, nil},
		"linear, MONOCHROME1":      {12, "MONOCHROME1", 0, window("2000", "1000", "LINEAR"), []string{"+Wi", "1"}, nil},
		"linear, signed":           {12, "MONOCHROME2", 1, window("-40.5", "400", ""), []string{"+Wi", "1"}, nil},
		"linear, narrow":           {12, "MONOCHROME2", 0, window("2000", "2", ""), []string{"+Wi", "1"}, nil},
		"linear, width 1":          {12, "MONOCHROME2", 0, window("2000", "1", ""), []string{"+Wi", "1"}, nil},
		"linear, beyond the range": {12, "MONOCHROME2", 0, window("4000", "1000", ""), []string{"+Wi", "1"}, nil},
		"second of two": {12, "MONOCHROME2", 0, window(`1\3000`, `10\500`, ""), []string{"+Wi", "2"},
			func(f *Film) VOI { return f.Greys.Windows[1] }},
		"sigmoid":            {12, "MONOCHROME2", 0, window("2000", "1000", "SIGMOID"), []string{"+Wi", "1", "+Wfs"}, nil},
		"rescaled":           {12, "MONOCHROME2", 0, append(rescale("1.5", "-1024"), window("100", "2000", "")...), []string{"+Wi", "1"}, nil},
		"rescaled, no VOI":   {12, "MONOCHROME2", 0, rescale("0.5", "-100"), nil, nil},
		"table of 12 bits":   {12, "MONOCHROME2", 0, []el{lut(0x00283010, 0, 12, curve(4096, 12)...)}, []string{"+Wl", "1"}, nil},
		"table of 8 bits":    {12, "MONOCHROME2", 0, []el{lut(0x00283010, 1000, 8, curve(1000, 8)...)}, []string{"+Wl", "1"}, nil},
		"table, MONOCHROME1": {12, "MONOCHROME1", 0, []el{lut(0x00283010, 0, 16, curve(4096, 16)...)}, []string{"+Wl", "1"}, nil},
		"table of negatives": {12, "MONOCHROME2", 1, []el{lut(0x00283010, -2048, 10, curve(4096, 10)...)}, []string{"+Wl", "1"}, nil},
		"modality table": {12, "MONOCHROME2", 0, append([]el{lut(0x00283000, 0, 16, curve(4096, 16)...)}, window("30000", "20000", "")...),
			[]string{"+Wi", "1"}, nil},
		"falling slope":              {12, "MONOCHROME2", 0, append(rescale("-1", "4095"), window("2000", "1000", "")...), []string{"+Wi", "1"}, nil},
		"falling slope, MONOCHROME1": {12, "MONOCHROME1", 0, append(rescale("-1", "4095"), window("2000", "1000", "")...), []string{"+Wi", "1"}, nil},
		"falling table":              {12, "MONOCHROME2", 0, []el{lut(0x00283010, 0, 12, reversed(curve(4096, 12))...)}, []string{"+Wl", "1"}, nil},
		"falling table, MONOCHROME1": {12, "MONOCHROME1", 0, []el{lut(0x00283010, 0, 12, reversed(curve(4096, 12))...)}, []string{"+Wl", "1"}, nil},
		"INVERSE":                    {12, "MONOCHROME2", 0, append(window("2000", "1000", ""), text(0x20500020, "CS", "INVERSE")), []string{"+Wi", "1"}, nil},
		"INVERSE, MONOCHROME1":       {12, "MONOCHROME1", 0, append(window("2000", "1000", ""), text(0x20500020, "CS", "INVERSE")), []string{"+Wi", "1"}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			path := file(t, "a.dcm", ramp(c.bits, c.photometric, c.signed, c.els...))
			f, err := Open(path)
			require.NoError(t, err)
			assert.Empty(t, f.Warnings)
			var voi VOI
			if c.voi != nil {
				voi = c.voi(f)
			}
			got := f.Display(voi)
			pgm := filepath.Join(t.TempDir(), "a.pgm")
			tool(t, "dcm2pnm", append(c.args, "+op", path, pgm)...)
			want := readPGM(t, pgm, got.Rect)
			worst := 0
			for i, v := range got.Pix {
				worst = max(worst, max(int(v)-int(want[i]), int(want[i])-int(v)))
			}
			assert.LessOrEqual(t, worst, 1)
		})
	}
}

// readPGM reads the levels of a raw grey map of 8 bits.
func readPGM(t *testing.T, path string, r image.Rectangle) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	head := fmt.Sprintf("P5\n%d %d\n255\n", r.Dx(), r.Dy())
	require.True(t, bytes.HasPrefix(b, []byte(head)), "%q", b[:20])
	return b[len(head):]
}

// Values worked by hand from the formulas of PS3.3 C.11.2.1.2 and C.11.2.1.3.
func TestWindow(t *testing.T) {
	for name, c := range map[string]struct {
		w    Window
		v    float64
		want float64
	}{
		"linear below":       {Window{Center: 2048, Width: 4096}, 0, 0},
		"linear above":       {Window{Center: 2048, Width: 4096}, 4095, 1},
		"linear between":     {Window{Center: 2048, Width: 4096}, 1023.75, 0.25},
		"linear step":        {Window{Center: 0, Width: 1}, 0, 1},
		"linear step, below": {Window{Center: 0, Width: 1}, -1, 0},
		"exact below":        {Window{Center: 2048, Width: 4096, Function: "LINEAR_EXACT"}, -1, 0},
		"exact between":      {Window{Center: 2048, Width: 4096, Function: "LINEAR_EXACT"}, 1024, 0.25},
		"exact above":        {Window{Center: 2048, Width: 4096, Function: "LINEAR_EXACT"}, 4096, 1},
		"sigmoid middle":     {Window{Center: 100, Width: 50, Function: "SIGMOID"}, 100, 0.5},
		"sigmoid":            {Window{Center: 100, Width: 50, Function: "SIGMOID"}, 125, 0.8807970779778823}, // 1/(1+e^-2)
	} {
		t.Run(name, func(t *testing.T) { assert.InDelta(t, c.want, c.w.grey(c.v), 1e-15) })
	}
}

func TestGreys(t *testing.T) {
	f, err := decode(ramp(8, "MONOCHROME2", 0,
		text(0x00281050, "DS", `100\50\x\7`), text(0x00281051, "DS", `200\0\1\8`), text(0x00281055, "LO", `BONE\NONE`), text(0x00281056, "CS", "CURVED"),
		text(0x00281052, "DS", "-10"), text(0x00281053, "DS", "2"), text(0x20500020, "CS", "INVERSE"),
		short(0x00280120, binary.LittleEndian, 250), short(0x00280121, binary.LittleEndian, 255)))
	require.NoError(t, err)
	assert.Equal(t, Greys{
		Slope: 2, Intercept: -10, Inverse: true, Padding: &Padding{250, 255},
		Windows: []Window{{100, 200, "LINEAR", "BONE"}, {7, 8, "LINEAR", ""}},
	}, f.Greys)
	assert.Equal(t, []string{
		`VOI LUT Function (0028,1056) is "CURVED", which the standard does not know: taken as LINEAR`,
		`window with center "50" and width "0": not used`,
		`window with center "x" and width "1": not used`,
	}, said(f.Warnings))
	assert.Equal(t, 2*17-10.0, f.Value(1, 1))
	shown := f.Display(nil)
	assert.EqualValues(t, 255, shown.Pix[0], "inverse")
	assert.EqualValues(t, 0, shown.Pix[255], "padding")
}

// A film's windows are written with it where they are of stored values.
func TestWindowsAreWritten(t *testing.T) {
	f := noise(3, 3, 12)
	f.Greys.Windows = []Window{{Center: 1000.5, Width: 300, Function: "SIGMOID"}, {Center: 7, Width: 1e-3, Function: "SIGMOID"}, {Center: 1, Width: 1, Function: "LINEAR"}}
	got, err := decode(encoded(t, f))
	require.NoError(t, err)
	assert.Equal(t, f.Greys.Windows[:2], got.Greys.Windows)
	f.Greys.Slope, f.Greys.Intercept = 2, 100
	got, err = decode(encoded(t, f))
	require.NoError(t, err)
	assert.Equal(t, []Window{{Center: 2048, Width: 4096, Function: "LINEAR"}}, got.Greys.Windows)
}

func TestTables(t *testing.T) {
	le := binary.LittleEndian
	f, err := decode(ramp(8, "MONOCHROME2", 0, lut(0x00283010, 10, 16, 0, 1000, 65535)))
	require.NoError(t, err)
	require.Len(t, f.Greys.Tables, 1)
	table := f.Greys.Tables[0]
	assert.Equal(t, Table{First: 10, Bits: 16, Data: []uint16{0, 1000, 65535}, Name: "curve"}, table)
	for v, want := range map[float64]uint16{-5: 0, 10: 0, 11: 1000, 12: 65535, 1e9: 65535} {
		assert.Equal(t, want, table.at(v), v)
	}
	packed := el{0x00283010, "SQ", nil}
	set := dataSet(le, false, el{0x00283002, "US", words(4, 0, 8)}, el{0x00283006, "OW", words(0x4020, 0xFF80)})
	packed.value = append(le.AppendUint32([]byte{0xFE, 0xFF, 0x00, 0xE0}, uint32(len(set))), set...)
	f, err = decode(ramp(8, "MONOCHROME2", 0, packed))
	require.NoError(t, err)
	assert.Equal(t, []uint16{0x20, 0x40, 0x80, 0xFF}, f.Greys.Tables[0].Data)

	for name, bad := range map[string]el{
		"no data":       lut(0x00283010, 0, 16),
		"too many bits": lut(0x00283010, 0, 17, 1, 2),
		"item cut":      {0x00283010, "SQ", []byte{0xFE, 0xFF, 0x00, 0xE0, 9, 0, 0, 0}},
		"no item":       {0x00283010, "SQ", []byte{0xFE, 0xFF, 0x01, 0xE0, 0, 0, 0, 0}},
		"not a table":   text(0x00283010, "LO", "curve"),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := decode(ramp(8, "MONOCHROME2", 0, bad))
			assert.ErrorIs(t, err, ErrMalformed)
			assert.ErrorContains(t, err, "VOI LUT Sequence (0028,3010)")
		})
	}
}

func BenchmarkDisplay3000(b *testing.B) {
	f := noise(3000, 3000, 12)
	for b.Loop() {
		f.Display(nil)
	}
}
