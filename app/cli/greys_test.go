package cli_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/png"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// tone is one way to say which of two stored values is the brighter: elements of a
// file, and whether they exchange dark and bright.
type tone struct {
	name      string
	exchanges bool
	els       []element
}

// fallingTable is a sequence with a table of n entries of 14 bits that exchanges dark
// and bright.
func fallingTable(tag uint32, first, n int) element {
	words := func(v ...int) (b []byte) {
		for _, n := range v {
			b = binary.LittleEndian.AppendUint16(b, uint16(n))
		}
		return b
	}
	data := make([]int, n)
	for i := range data {
		data[i] = n - 1 - i
	}
	var set []byte
	for _, e := range []element{{0x00283002, "US", words(n, first, 14)}, {0x00283006, "OW", words(data...)}} {
		set = e.encode(set)
	}
	item := binary.LittleEndian.AppendUint32([]byte{0xFE, 0xFF, 0x00, 0xE0}, uint32(len(set)))
	return element{tag, "SQ", append(item, set...)}
}

// without drops elements from a film that Write states.
func without(path string, tags ...uint32) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	out := slices.Clone(b[:132])
	for _, e := range elements(b) {
		if !slices.Contains(tags, e.tag) {
			out = e.encode(out)
		}
	}
	return os.WriteFile(path, out, 0o600)
}

// storedWith writes the film at from to path, each stored value v as change makes it.
func storedWith(from, path string, change func(v uint16) uint16) error {
	b, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	for _, e := range elements(b) {
		if e.tag == 0x7FE00010 {
			for p := e.value; len(p) >= 2; p = p[2:] { // in place
				binary.LittleEndian.PutUint16(p, change(binary.LittleEndian.Uint16(p)))
			}
		}
	}
	return os.WriteFile(path, b, 0o600)
}

// A film reads the same in every form in which a file may hold it: what exchanges
// dark and bright on the screen does so for the search. The forms are all pairs of
// MONOCHROME1 or 2, presentation shape, slope or table of the modality, window or
// table of values of interest, and Pixel Intensity Relationship Sign, which says
// what bone is without changing what is shown.
func TestGreysReadTheSame(t *testing.T) {
	dir := t.TempDir()
	plain := filepath.Join(dir, "plain.dcm")
	require.NoError(t, writeFilm(plain, "right", "2010-03-04", []string{"sup=0.6", "med=0.2", "window=90"}))
	const bits, most = 14, 1<<14 - 1
	shapes := []tone{
		{"MONOCHROME2", false, []element{{0x00280004, "CS", []byte("MONOCHROME2 ")}, {0x20500020, "CS", []byte("IDENTITY")}}},
		{"MONOCHROME1", true, []element{{0x00280004, "CS", []byte("MONOCHROME1 ")}, {0x20500020, "CS", []byte("IDENTITY")}}},
		{"INVERSE", true, []element{{0x00280004, "CS", []byte("MONOCHROME2 ")}, {0x20500020, "CS", []byte("INVERSE ")}}},
		{"MONOCHROME1, INVERSE", true, []element{{0x00280004, "CS", []byte("MONOCHROME1 ")}, {0x20500020, "CS", []byte("INVERSE ")}}},
	}
	modalities := []tone{
		{"no slope", false, nil},
		{"slope -1", true, []element{{0x00281052, "DS", []byte("16383 ")}, {0x00281053, "DS", []byte("-1")}}},
		{"modality table", true, []element{fallingTable(0x00283000, 0, most+1)}},
	}
	vois := []tone{
		{"window", false, []element{{0x00281050, "DS", []byte("8192")}, {0x00281051, "DS", []byte("16384 ")}}},
		{"VOI table", true, []element{fallingTable(0x00283010, 0, most+1)}},
	}
	want, shown := readGreys(t, plain)
	require.Equal(t, study.Measured, want.Status, want.Reason)
	for i, a := range shapes {
		for j, b := range modalities {
			for k, c := range vois {
				for l, right := range []bool{true, false} {
					if (i+j+k+l)%2 == 1 { // half of them hold every pair
						continue
					}
					name := fmt.Sprint(a.name, ", ", b.name, ", ", c.name, ", right sign: ", right)
					t.Run(name, func(t *testing.T) {
						path := filepath.Join(t.TempDir(), "a.dcm")
						exchanged := (a.exchanges != b.exchanges) != c.exchanges
						require.NoError(t, storedWith(plain, path, func(v uint16) uint16 {
							if exchanged {
								return most - v
							}
							return v
						}))
						require.NoError(t, without(path, 0x00281050, 0x00281051, 0x00281052, 0x00281053, 0x00281054, 0x00281056))
						sign := []byte{0xFF, 0xFF} // higher stored values are less X-ray: bone
						if exchanged == right {
							sign = []byte{1, 0}
						}
						els := slices.Concat(a.els, b.els, c.els, []element{{0x00281041, "SS", sign}})
						require.NoError(t, setElements(path, els...))
						got, picture := readGreys(t, path)
						require.LessOrEqual(t, apart(picture, shown), 1, "the screen shows the same within a level")
						require.Equal(t, want.Status, got.Status, got.Reason)
						readsAs(t, want, got)
						dark := "bone is dark in the greys that the file asks for"
						texts := fmt.Sprint(study.Texts(got.Warnings))
						if right {
							require.NotContains(t, texts, dark)
						} else {
							require.Contains(t, texts, dark)
						}
					})
				}
			}
		}
	}
}

// A film whose file shows bone dark, and says so, is read as well: outlines are the
// same with dark and bright exchanged.
func TestBoneShownDarkIsFound(t *testing.T) {
	dir := t.TempDir()
	plain, dark := filepath.Join(dir, "plain.dcm"), filepath.Join(dir, "dark.dcm")
	require.NoError(t, writeFilm(plain, "right", "2010-03-04", []string{"sup=0.6", "med=0.2", "window=90"}))
	require.NoError(t, storedWith(plain, dark, func(v uint16) uint16 { return v }))
	require.NoError(t, setElements(dark, element{0x00280004, "CS", []byte("MONOCHROME1 ")}, element{0x20500020, "CS", []byte("INVERSE ")}))
	want, shown := readGreys(t, plain)
	got, picture := readGreys(t, dark)
	for i := range picture {
		picture[i] = 255 - picture[i]
	}
	require.LessOrEqual(t, apart(picture, shown), 1, "the screen shows it with dark and bright exchanged")
	require.Equal(t, study.Measured, got.Status, got.Reason)
	readsAs(t, want, got)
	require.Contains(t, fmt.Sprint(study.Texts(got.Warnings)), "bone is dark in the greys that the file asks for")
}

// readGreys measures the film at path and returns the levels that the screen shows.
func readGreys(t *testing.T, path string) (study.Measurement, []byte) {
	t.Helper()
	ms, err := batch.Measure(t.Context(), []string{path}, batch.MeasureOptions{HeadMM: 28, Side: measure.Right}, nil)
	require.NoError(t, err)
	require.Len(t, ms, 1)
	var b bytes.Buffer
	require.NoError(t, batch.DisplayPNG(path, 1, &b))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	var levels []byte
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			r, _, _, _ := img.At(x, y).RGBA()
			levels = append(levels, byte(r>>8))
		}
	}
	return ms[0], levels
}

// readsAs requires two readings of one film to agree to within rounding.
func readsAs(t *testing.T, want, got study.Measurement) {
	t.Helper()
	require.Equal(t, want.CupKind, got.CupKind)
	for _, v := range [][2]float64{
		{want.Head.X, got.Head.X}, {want.Head.Y, got.Head.Y}, {want.Head.R, got.Head.R},
		{want.Cup.X, got.Cup.X}, {want.Cup.Y, got.Cup.Y}, {want.Cup.R, got.Cup.R},
		{want.Reading.Offset.Superior, got.Reading.Offset.Superior}, {want.Reading.Offset.Medial, got.Reading.Offset.Medial},
		{want.Reading.Offset.Cov[0][0], got.Reading.Offset.Cov[0][0]}, {want.Reading.Scale, got.Reading.Scale},
	} {
		require.InDelta(t, v[0], v[1], 1e-6)
	}
}

// apart returns the greatest difference of two pictures.
func apart(a, b []byte) int {
	if len(a) != len(b) {
		return 256
	}
	most := 0
	for i := range a {
		most = max(most, int(a[i])-int(b[i]), int(b[i])-int(a[i]))
	}
	return most
}
