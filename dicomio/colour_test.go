package dicomio

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A picture in colour and a chart are no radiographs; a grey picture that is stored in
// colour may be one, and is read where it is grey throughout.
func TestPictureThatIsNoRadiograph(t *testing.T) {
	fill := func(of func(x, y int) color.RGBA) *image.RGBA {
		img := image.NewRGBA(image.Rect(0, 0, 60, 40))
		for y := range 40 {
			for x := range 60 {
				img.SetRGBA(x, y, of(x, y))
			}
		}
		return img
	}
	grey := func(v uint8) color.RGBA { return color.RGBA{v, v, v, 255} }
	for name, c := range map[string]struct {
		img    image.Image
		noFilm bool
		tinted bool
	}{
		"lines in colour on paper": {img: fill(func(x, y int) color.RGBA {
			if x == y {
				return color.RGBA{200, 30, 30, 255}
			}
			return grey(255)
		}), noFilm: true},
		"a photograph":       {img: fill(func(x, y int) color.RGBA { return color.RGBA{uint8(4 * x), uint8(5 * y), 90, 255} }), noFilm: true},
		"black lines":        {img: fill(func(x, y int) color.RGBA { return grey(uint8(255 * min(1, (x+y)%7))) }), noFilm: true},
		"greys in colour":    {img: fill(func(x, y int) color.RGBA { return grey(uint8(3*x + y)) }), noFilm: false},
		"greys on black":     {img: fill(func(x, y int) color.RGBA { return grey(uint8(max(0, 6*x-160))) }), noFilm: false},
		"greys a bit tinted": {img: fill(func(x, y int) color.RGBA { v := uint8(3*x + y); return color.RGBA{v, v, v - v/10, 255} }), tinted: true},
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "p.png")
			require.NoError(t, os.WriteFile(path, encodedPNG(t, c.img), 0o600))
			_, err := Open(path)
			switch {
			case c.noFilm:
				require.ErrorIs(t, err, ErrNoFilm)
			case c.tinted:
				require.ErrorIs(t, err, ErrUnsupported)
				require.NotErrorIs(t, err, ErrNoFilm)
			default:
				require.NoError(t, err)
			}
			require.True(t, IsColour(path))
		})
	}
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, fill(func(x, y int) color.RGBA { return color.RGBA{uint8(4 * x), uint8(5 * y), 90, 255} }), nil))
	_, err := decode(b.Bytes())
	require.ErrorIs(t, err, ErrNoFilm)
	path := filepath.Join(t.TempDir(), "film.png")
	require.NoError(t, os.WriteFile(path, encodedPNG(t, image.NewGray(image.Rect(0, 0, 8, 8))), 0o600))
	require.False(t, IsColour(path))
	require.False(t, IsColour(filepath.Join(t.TempDir(), "none.png")))
}
