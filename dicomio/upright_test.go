package dicomio

import (
	"encoding/binary"
	"image"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A film of 2 rows and 3 columns that is brought upright from each of the eight
// ways it can lie; the values number the upright film's pixels row by row.
func TestUpright(t *testing.T) {
	for name, c := range map[string]struct {
		orientation   [2]string
		rows, columns int
		lying         []uint16
	}{
		"upright":                 {[2]string{"L", "F"}, 2, 3, []uint16{1, 2, 3, 4, 5, 6}},
		"mirrored":                {[2]string{"R", "F"}, 2, 3, []uint16{3, 2, 1, 6, 5, 4}},
		"upside down":             {[2]string{"L", "H"}, 2, 3, []uint16{4, 5, 6, 1, 2, 3}},
		"turned by half":          {[2]string{"R", "H"}, 2, 3, []uint16{6, 5, 4, 3, 2, 1}},
		"transposed":              {[2]string{"F", "L"}, 3, 2, []uint16{1, 4, 2, 5, 3, 6}},
		"turned clockwise":        {[2]string{"H", "L"}, 3, 2, []uint16{4, 1, 5, 2, 6, 3}},
		"turned counterclockwise": {[2]string{"F", "R"}, 3, 2, []uint16{3, 6, 2, 5, 1, 4}},
		"transposed, other way":   {[2]string{"H", "R"}, 3, 2, []uint16{6, 3, 5, 2, 4, 1}},
		"a little oblique":        {[2]string{"RH", "FR"}, 2, 3, []uint16{3, 2, 1, 6, 5, 4}},
	} {
		t.Run(name, func(t *testing.T) {
			f := &Film{Pixels: gray16(c.rows, c.columns, c.lying), Rows: c.rows, Columns: c.columns, Orientation: c.orientation}
			f.Geometry.Imager = [2]float64{0.1, 0.2}
			up := f.Upright()
			assert.Equal(t, gray16(2, 3, []uint16{1, 2, 3, 4, 5, 6}), up.Pixels)
			assert.Equal(t, []int{2, 3}, []int{up.Rows, up.Columns})
			if c.rows == 2 {
				assert.Equal(t, [2]float64{0.1, 0.2}, up.Geometry.Imager)
			} else {
				assert.Equal(t, [2]float64{0.2, 0.1}, up.Geometry.Imager)
			}
			assert.Equal(t, gray16(c.rows, c.columns, c.lying), f.Pixels, "the film itself is left alone")
			assert.Same(t, up, up.Upright())
		})
	}
	for _, o := range [][2]string{{}, {"L", ""}, {"A", "F"}, {"L", "R"}, {"H", "F"}, {"?", "?"}} {
		f := &Film{Pixels: gray16(1, 1, []uint16{1}), Orientation: o}
		assert.Same(t, f, f.Upright(), o)
	}
}

func gray16(rows, columns int, values []uint16) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, columns, rows))
	for i, v := range values {
		binary.BigEndian.PutUint16(img.Pix[2*i:], v)
	}
	return img
}

func TestDuplicates(t *testing.T) {
	var films []*Film
	for _, name := range []string{"explicit", "rle", "lossless", "jpeg12", "big"} {
		f, err := Open("testdata/dcmtk-" + name + ".dcm")
		require.NoError(t, err)
		films = append(films, f, nil)
	}
	assert.Equal(t, []int{0, -1, 0, -1, 0, -1, 6, -1, 0, -1}, Duplicates(films))
	a, b := noise(4, 4, 12), noise(4, 4, 12)
	b.Photometric = "MONOCHROME1"
	assert.NotEqual(t, a.PixelKey(), b.PixelKey(), "the same greys from other stored values")
}
