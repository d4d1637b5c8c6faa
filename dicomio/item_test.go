package dicomio

import (
	"bytes"
	"encoding/binary"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// nested has values of every kind that is written, and items three deep.
func nested() Item {
	code := Item{}
	code.SetText(0x00080100, "SH", "121071")
	code.SetText(0x00080104, "LO", "Fund, äöü")
	inner := Item{}
	inner.SetItems(0x0040A043, code)
	inner.SetNumbers(0x00700022, "FL", 100.25, -3.5)
	inner.SetNumbers(0x0040A161, "FD", math.Pi)
	outer := Item{}
	outer.SetItems(0x0040A730, inner, Item{}, inner)
	out := Item{}
	out.SetText(0x00080005, "CS", "ISO_IR 192")
	out.SetText(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.88.33")
	out.SetText(0x00080018, "UI", "2.25.1")
	out.SetText(0x00100010, "PN", "Name^Jane")
	out.SetText(0x00080050, "SH")
	out.SetText(0x00200020, "CS", "L", "F")
	out.SetItems(0x0040A730, outer)
	out.SetItems(0x0040A372)
	out.SetNumbers(0x00280010, "US", 65535)
	out.SetNumbers(0x00281041, "SS", -1)
	out.SetNumbers(0x00700052, "SL", 1, -70000)
	out.SetNumbers(0x0040A30A, "DS", 1.0/3)
	return out
}

func written(t testing.TB, i Item) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, i.Write(&b))
	return b.Bytes()
}

func TestItemComesBack(t *testing.T) {
	want := nested()
	got, err := ReadItem(file(t, "a.dcm", written(t, want)))
	require.NoError(t, err)
	require.Equal(t, written(t, want), written(t, got))
	inner := got.Item(0x0040A730).Items(0x0040A730)
	require.Len(t, inner, 3)
	assert.Equal(t, []float64{100.25, -3.5}, inner[0].Numbers(0x00700022))
	assert.Equal(t, []float64{math.Pi}, inner[2].Numbers(0x0040A161))
	assert.Empty(t, inner[1])
	assert.Equal(t, "Fund, äöü", inner[0].Item(0x0040A043).Text(0x00080104))
	assert.Equal(t, []float64{65535}, got.Numbers(0x00280010))
	assert.Equal(t, []float64{-1}, got.Numbers(0x00281041))
	assert.Equal(t, []float64{1, -70000}, got.Numbers(0x00700052))
	assert.InDelta(t, 1.0/3, got.Numbers(0x0040A30A)[0], 1e-14)
	assert.LessOrEqual(t, len(got.Text(0x0040A30A)), 16)
	assert.Equal(t, "L", got.Text(0x00200020))
	assert.Equal(t, Item{}, got.Item(0x0040A372))
	assert.Nil(t, got.Numbers(0x0040A043), "no such element")
}

// The same data set as dcmtk encodes it: without types, turned round, without lengths,
// deflated (which is read where pixels follow).
func TestItemInOtherSyntaxes(t *testing.T) {
	want := nested()
	path := file(t, "a.dcm", written(t, want))
	for _, how := range []string{"+ti", "+tb", "-e", "+e"} {
		to := filepath.Join(t.TempDir(), "b.dcm")
		tool(t, "dcmconv", how, path, to)
		got, err := ReadItem(to)
		require.NoError(t, err, how)
		require.Equal(t, written(t, want), written(t, got), how)
	}
	for _, name := range []string{"dcmtk-deflated", "dcmtk-big", "dcmtk-implicit", "dcmtk-jpegls"} {
		got, err := ReadItem(filepath.Join("testdata", name+".dcm"))
		require.NoError(t, err)
		assert.Equal(t, "LW-0007", got.Text(0x00100020), name)
		assert.Equal(t, []float64{40}, got.Numbers(0x00280010), name)
	}
}

// Texts of a file come in UTF-8, those of an item in the item's own set.
func TestItemTextsAreDecoded(t *testing.T) {
	item := dataSet(binary.LittleEndian, false, text(0x00080005, "CS", "ISO_IR 144"), text(0x00100010, "PN", "\xbb"))
	set := dataSet(binary.LittleEndian, false, text(0x00080005, "CS", "ISO_IR 100"), text(0x00080016, "UI", "1.2"),
		el{0x00081140, "SQ", appendItem(nil, item)}, text(0x00100010, "PN", "M\xfcller"))
	got, err := readItem(dicomFile(explicitLittle, set))
	require.NoError(t, err)
	assert.Equal(t, "Müller", got.Text(0x00100010))
	assert.Equal(t, "Л", got.Item(0x00081140).Text(0x00100010))
}

func TestItemThatCannotBeWritten(t *testing.T) {
	i := nested()
	i.SetText(0x00081030, "LO", strings.Repeat("x", 65535))
	err := i.Write(&bytes.Buffer{})
	require.EqualError(t, err, "65535 bytes are too long for Study Description (0008,1030)")
}

func TestItemsThatAreNone(t *testing.T) {
	for name, c := range map[string]struct{ content, err string }{
		"picture": {"\x89PNG\r\n\x1a\n0000000000000", "unsupported: PNG; only DICOM films say who they are of"},
		"text":    {"nothing of the kind", "unsupported: neither DICOM, PNG, TIFF, JPEG, JPEG 2000 nor BMP"},
	} {
		_, err := ReadItem(file(t, name, []byte(c.content)))
		require.ErrorContains(t, err, c.err, name)
	}
	_, err := ReadItem(filepath.Join(t.TempDir(), "none"))
	require.ErrorContains(t, err, "no such file")
}

// A file cut between two elements has those before; cut elsewhere, it is refused, and one
// with a byte changed is read or refused.
func TestItemOfABrokenFile(t *testing.T) {
	b, whole := written(t, nested()), 0
	for n := range b {
		if got, err := readItem(b[:n]); err == nil {
			whole++
			require.True(t, bytes.HasPrefix(elements(t, nested()), elements(t, got)), "%d bytes", n)
		}
		for _, v := range []byte{0, 0xFF, b[n] ^ 1} {
			c := bytes.Clone(b)
			c[n] = v
			_, _ = readItem(c)
		}
	}
	assert.Less(t, whole, len(nested()), "places between two elements, and no others")
}

// elements are those of an item, as they are encoded.
func elements(t testing.TB, i Item) []byte {
	t.Helper()
	b, err := i.append(nil)
	require.NoError(t, err)
	return b
}

func FuzzReadItem(f *testing.F) {
	f.Add(written(f, nested()))
	f.Fuzz(func(t *testing.T, b []byte) {
		i, err := readItem(b)
		if err == nil {
			_ = i.Write(&bytes.Buffer{})
		}
	})
}
