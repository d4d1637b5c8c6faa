package dicomio

import (
	"bytes"
	"encoding/binary"
	"image"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestField(t *testing.T) {
	edges := func(left, right, upper, lower string) []el {
		return []el{text(0x00181702, "IS", left), text(0x00181704, "IS", right), text(0x00181706, "IS", upper), text(0x00181708, "IS", lower)}
	}
	const unused = "the collimator's tags are not used: "
	for name, c := range map[string]struct {
		els     []el
		want    Field
		warning string
	}{
		"none":             {},
		"rectangle":        {els: edges("3", "26", "2", "11"), want: Field{2, 26, 1, 11}},
		"beyond the film":  {els: edges("-4", "34", "1", "20"), want: Field{-5, 34, 0, 20}},
		"an edge left out": {els: edges("3", "26", "", "11")},
		"circle":           {els: []el{text(0x00181710, "IS", `9\16`), text(0x00181712, "IS", "8")}, want: Field{7.5, 23.5, 0.5, 16.5}},
		"rectangle and circle": {els: append(edges("3", "26", "2", "11"), text(0x00181710, "IS", `9\16`), text(0x00181712, "IS", "8")),
			want: Field{2, 26, 1, 11}},
		"right before left": {els: edges("26", "3", "2", "11"), warning: "columns 26 to 3 and rows 2 to 11 are no opening"},
		"no height":         {els: edges("3", "26", "12", "11"), warning: "columns 3 to 26 and rows 12 to 11 are no opening"},
		"off the film":      {els: edges("31", "60", "2", "11"), warning: "columns 31 to 60 and rows 2 to 11 lie off the film of 30 x 20"},
		"out of all reason": {els: edges("-99999", "26", "2", "11"), warning: "columns -99999 to 26 and rows 2 to 11 reach too far beyond the film of 30 x 20"},
		"no number":         {els: edges("3", "wide", "2", "11"), warning: `Collimator Right Vertical Edge (0018,1704) is "wide", not a whole number`},
		"half a centre":     {els: []el{text(0x00181710, "IS", "9"), text(0x00181712, "IS", "8")}, warning: `Center of Circular Collimator (0018,1710) is "9", not a row and a column`},
		"no radius":         {els: []el{text(0x00181710, "IS", `9\16`)}},
		"radius of nothing": {els: []el{text(0x00181710, "IS", `9\16`), text(0x00181712, "IS", "0")}, warning: "columns 16.5 to 15.5 and rows 9.5 to 8.5 are no opening"},
	} {
		t.Run(name, func(t *testing.T) {
			le := binary.LittleEndian
			all := append(c.els, image16(le, 20, 30, 16, 12, 11, 0, "MONOCHROME2")...)
			all = append(all, el{0x7FE00010, "OW", make([]byte, 20*30*2)})
			f, err := decode(dicomFile(explicitLittle, dataSet(le, false, all...)))
			require.NoError(t, err)
			assert.Equal(t, c.want, f.Field)
			if c.warning == "" {
				assert.Empty(t, f.Warnings)
				return
			}
			assert.Equal(t, []string{unused + c.warning}, said(f.Warnings))
		})
	}
}

// The field stays where it is on the picture when the film is brought upright and to
// square pixels, and when it is written.
func TestFieldFollowsThePicture(t *testing.T) {
	const w, h, value = 12, 8, 900
	spot := func(x, y int) *Film {
		f := &Film{Pixels: image.NewGray16(image.Rect(0, 0, w, h)), Rows: h, Columns: w, Bits: 12, Photometric: "MONOCHROME2"}
		binary.BigEndian.PutUint16(f.Pixels.Pix[f.Pixels.PixOffset(x, y):], value)
		f.Field = Field{float64(x) - 1, float64(x) + 2, float64(y) - 1, float64(y) + 2}
		return f
	}
	for _, o := range [][2]string{{"L", "F"}, {"R", "F"}, {"L", "H"}, {"R", "H"}, {"F", "L"}, {"F", "R"}, {"H", "L"}, {"H", "R"}} {
		f := spot(3, 5)
		f.Orientation = o
		up := f.Upright()
		x, y := up.Field.Center()
		assert.Equal(t, uint16(value), up.Pixels.Gray16At(int(x), int(y)).Y, "rows to %s, columns to %s", o[0], o[1])
		assert.Equal(t, 3.0, up.Field.Right-up.Field.Left)
	}
	f := spot(3, 5)
	f.Geometry.Imager = [2]float64{0.2, 0.1}
	square, err := f.Square()
	require.NoError(t, err)
	assert.Equal(t, Field{2, 5, 8, 14}, square.Field)

	path := filepath.Join(t.TempDir(), "film.dcm")
	require.NoError(t, WriteFile(path, spot(3, 5)))
	again, err := Open(path)
	require.NoError(t, err)
	assert.Equal(t, Field{2, 5, 4, 7}, again.Field)
	var b bytes.Buffer
	require.NoError(t, Write(&b, &Film{Pixels: spot(1, 1).Pixels, Bits: 12, Photometric: "MONOCHROME2"}))
	assert.NotContains(t, b.String(), "RECTANGULAR")
}
