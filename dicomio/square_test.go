package dicomio

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// oblong is a film of 12 bits whose pixels are rowMM x columnMM, by the function
// of the pixels' centres in mm.
func oblong(rows, columns int, rowMM, columnMM float64, at func(x, y float64) float64) *Film {
	values := make([]uint16, 0, rows*columns)
	for y := range rows {
		for x := range columns {
			values = append(values, uint16(math.Round(at((float64(x)+0.5)*columnMM, (float64(y)+0.5)*rowMM))))
		}
	}
	return &Film{Path: "a.dcm", Pixels: gray16(rows, columns, values), Rows: rows, Columns: columns, Bits: 12, Photometric: "MONOCHROME2",
		Geometry: Geometry{Imager: [2]float64{rowMM, columnMM}, Ratio: [2]float64{rowMM, columnMM}}}
}

// Cubic convolution gives back a polynomial of second degree (Keys 1981), so that
// every pixel with all its neighbours has the value of its centre.
func TestSquareKeepsPlaces(t *testing.T) {
	at := func(x, y float64) float64 { return 300 + 20*x + 30*y + 0.5*x*x - 0.25*y*y }
	for name, mm := range map[string][2]float64{"wide": {1, 1.25}, "high": {1.6, 1}, "twice": {0.5, 1}, "thrice": {3, 1}} {
		t.Run(name, func(t *testing.T) {
			f := oblong(24, 30, mm[0], mm[1], at)
			s, err := f.Square()
			require.NoError(t, err)
			side := min(mm[0], mm[1])
			assert.Equal(t, []int{int(math.Round(24 * mm[0] / side)), int(math.Round(30 * mm[1] / side))}, []int{s.Rows, s.Columns})
			assert.Equal(t, []int{s.Columns, s.Rows}, []int{s.Pixels.Rect.Dx(), s.Pixels.Rect.Dy()})
			assert.InDelta(t, side, s.Geometry.Imager[0], 1e-12)
			assert.InDelta(t, side, s.Geometry.Imager[1], 1e-12)
			assert.Equal(t, 1.0, s.Geometry.Aspect())
			edge := int(2 * max(mm[0], mm[1]) / side)
			for y := edge; y < s.Rows-edge; y++ {
				for x := edge; x < s.Columns-edge; x++ {
					want := at((float64(x)+0.5)*side, (float64(y)+0.5)*side)
					require.InDelta(t, want, float64(s.Pixels.Gray16At(x, y).Y), 1.3, "%d, %d", x, y) // rounded before and after
				}
			}
			assert.Equal(t, 24, f.Rows, "the film itself is left alone")
			again, err := s.Square()
			require.NoError(t, err)
			assert.Same(t, s, again)
		})
	}
}

// Rows and columns are treated alike.
func TestSquareOfLyingFilm(t *testing.T) {
	f := oblong(9, 7, 0.2, 0.15, func(_, _ float64) float64 { return float64(rand.IntN(4096)) })
	f.Orientation = [2]string{"F", "L"}
	a, err := f.Upright().Square()
	require.NoError(t, err)
	s, err := f.Square()
	require.NoError(t, err)
	assert.Equal(t, a.Pixels, s.Upright().Pixels)
	assert.Equal(t, a.Geometry, s.Upright().Geometry)
}

func TestSquareEdgesAndPadding(t *testing.T) {
	flat := oblong(3, 4, 1, 1.5, func(_, _ float64) float64 { return 4095 })
	s, err := flat.Square()
	require.NoError(t, err)
	assert.Equal(t, gray16(3, 6, []uint16{4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095, 4095}), s.Pixels)

	step := oblong(1, 8, 1, 2, func(x, _ float64) float64 { return map[bool]float64{true: 4095}[x > 8] })
	s, err = step.Square()
	require.NoError(t, err)
	for x := range 16 { // overshoot is cut off: 16-bit values would begin anew
		switch v := s.Pixels.Gray16At(x, 0).Y; {
		case x < 7:
			assert.Zero(t, v, x)
		case x > 8:
			assert.EqualValues(t, 4095, v, x)
		default:
			assert.Less(t, v, uint16(4095), x)
		}
	}

	padded := oblong(1, 6, 1, 2, func(x, _ float64) float64 { return map[bool]float64{true: 7, false: 3000}[x < 4] })
	padded.Photometric, padded.Greys.Padding = "MONOCHROME1", &Padding{Low: 4088, High: 4088} // 4095 - 7
	s, err = padded.Square()
	require.NoError(t, err)
	assert.Equal(t, gray16(1, 12, []uint16{7, 7, 7, 7, 3000, 3000, 3000, 3000, 3000, 3000, 3000, 3000}), s.Pixels)
}

func TestPixelsThatCannotBeSquared(t *testing.T) {
	f := oblong(2, 2, 1, 12, func(_, _ float64) float64 { return 0 })
	_, err := f.Square()
	require.ErrorIs(t, err, ErrMalformed)
	assert.EqualError(t, err, "dicomio: a.dcm: malformed: pixels 12 times as long as wide, by spacing or aspect ratio, cannot be true")
	f = oblong(1, 1, 1, math.Inf(1), func(_, _ float64) float64 { return 0 })
	_, err = f.Square()
	require.ErrorIs(t, err, ErrMalformed)
	f = oblong(1, 1<<15, 4, 1, func(_, _ float64) float64 { return 0 })
	f.Pixels.Rect.Max.Y = 1 << 11 // so many are claimed
	_, err = f.Square()
	require.ErrorIs(t, err, ErrUnsupported)
}

func TestSquareBy(t *testing.T) {
	for _, c := range []struct {
		mm    [2]float64
		times float64
		of    string
	}{
		{[2]float64{0.1, 0.10005}, 1, "rows"}, {[2]float64{0.1, 0.125}, 1.25, "columns"}, {[2]float64{0.4, 0.3}, 4. / 3, "rows"}, {[2]float64{5, 1}, 0, ""},
	} {
		f := &Film{Geometry: Geometry{Ratio: c.mm}}
		times, of := f.SquareBy()
		assert.InDelta(t, c.times, times, 1e-12)
		assert.Equal(t, c.of, of)
	}
}
