package dicomio_test

import (
	"fmt"
	"image"
	"image/color"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"linerwatch/dicomio"
)

func TestBlindFilmTellsNobody(t *testing.T) {
	img := image.NewGray16(image.Rect(0, 0, 600, 400))
	for i := range img.Pix {
		img.Pix[i] = 0x40
	}
	(&font.Drawer{Dst: img, Src: image.NewUniform(color.Gray16{Y: 0xFFFF}), Face: basicfont.Face7x13, Dot: fixed.P(30, 20)}).DrawString("QUINCE 1952-0229")
	brightest := func(img *image.Gray16) (most uint16) {
		for y := range 30 {
			for x := range 600 {
				most = max(most, img.Gray16At(x, y).Y)
			}
		}
		return most
	}
	day := time.Date(1952, 2, 29, 0, 0, 0, 0, time.UTC)
	f := &dicomio.Film{Path: "quince/1952.dcm", SHA256: "quince", Key: "quince", Pixels: img, PatientCode: "quince", Date: day, DateSource: "study",
		Dates: []dicomio.Dated{{Date: day}}, Parts: []dicomio.Shown{{Said: "quince"}}, Laterality: "R", Bits: 16,
		Warnings: []*dicomio.Fault{{Code: "quince"}}, Geometry: dicomio.Geometry{Imager: [2]float64{0.143, 0.143}}}
	b := f.Blind("place 1")
	require.Equal(t, "place 1", b.Path)
	require.Equal(t, "R", b.Laterality)
	require.Equal(t, f.Geometry, b.Geometry)
	require.Equal(t, uint16(0x4040), brightest(b.Pixels), "the writing is black")
	require.Equal(t, uint16(0xFFFF), brightest(f.Pixels), "the film itself stays")
	told := *b
	told.Pixels = nil
	require.NotContains(t, fmt.Sprintf("%+v", told), "quince")
	require.NotContains(t, fmt.Sprintf("%+v", told), "1952")
	told = *f
	told.Pixels = nil
	require.Contains(t, fmt.Sprintf("%+v", told), "quince", "what is searched for is there to be found")
}
