package letters

import (
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"
)

// page is a grey picture of 600 x 400 pixels with words of 7 x 13 pixels a letter.
func page(ground, ink uint16, x, y int, words string) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, 600, 400))
	for i := range img.Pix {
		img.Pix[i] = byte(ground >> 8)
	}
	(&font.Drawer{Dst: img, Src: image.NewUniform(color.Gray16{Y: ink}), Face: basicfont.Face7x13, Dot: fixed.P(x, y)}).DrawString(words)
	img.SetGray16(599, 399, color.Gray16{Y: 0})
	img.SetGray16(598, 399, color.Gray16{Y: 0xFFFF})
	return img
}

func turned(img *image.Gray16) *image.Gray16 {
	out := image.NewGray16(image.Rect(0, 0, img.Rect.Dy(), img.Rect.Dx()))
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			out.SetGray16(y, img.Rect.Dx()-1-x, img.Gray16At(x, y))
		}
	}
	return out
}

func TestFind(t *testing.T) {
	words := image.Rect(30, 11, 30+16*7, 20) // without what hangs below the line
	for name, c := range map[string]struct {
		img  *image.Gray16
		want image.Rectangle // empty for none
	}{
		"bright":     {page(0x4040, 0xFFFF, 30, 20, "QUINCE 1952-0229"), words},
		"dark":       {page(0xA0A0, 0, 30, 20, "QUINCE 1952-0229"), words},
		"turned":     {turned(page(0x4040, 0xFFFF, 30, 20, "QUINCE 1952-0229")), image.Rect(11, 600-30-16*7, 20, 600-30)},
		"faint":      {page(0x4040, 0x4848, 30, 20, "QUINCE 1952-0229"), image.Rectangle{}},
		"one letter": {page(0x4040, 0xFFFF, 30, 20, "R"), image.Rectangle{}},
		"middle":     {page(0x4040, 0xFFFF, 250, 200, "QUINCE 1952-0229"), words.Add(image.Pt(220, 180))},
		"none":       {page(0x4040, 0xFFFF, 30, 20, ""), image.Rectangle{}},
		"flat":       {image.NewGray16(image.Rect(0, 0, 60, 40)), image.Rectangle{}},
		"no pixel":   {image.NewGray16(image.Rectangle{}), image.Rectangle{}},
	} {
		t.Run(name, func(t *testing.T) {
			got := Find(c.img)
			if c.want.Empty() {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.True(t, c.want.In(got[0]), "%v in %v", c.want, got[0])
			assert.True(t, got[0].In(c.img.Rect))
		})
	}
}

// A part of a picture is searched in its own coordinates.
func TestFindInAPart(t *testing.T) {
	img := page(0x4040, 0xFFFF, 130, 120, "QUINCE 1952-0229")
	part := img.SubImage(image.Rect(100, 100, 600, 400)).(*image.Gray16)
	got := Find(part)
	require.Len(t, got, 1)
	assert.True(t, image.Rect(130, 111, 130+16*7, 120).In(got[0]), got[0])
}

// Lines that lean are no words, and noise is none.
func TestFindLeavesLinesAndNoise(t *testing.T) {
	img := page(0x4040, 0xFFFF, 0, 0, "")
	for x := range 200 {
		for d := range 3 {
			img.SetGray16(20+x, 20+x/12+d, color.Gray16{Y: 0xFFFF})
		}
	}
	assert.Empty(t, Find(img))
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range img.Pix {
		img.Pix[i] = byte(min(max(128+60*rng.NormFloat64(), 0), 255))
	}
	assert.Empty(t, Find(img))
}

func ExampleFind() {
	img := image.NewGray16(image.Rect(0, 0, 600, 400))
	(&font.Drawer{Dst: img, Src: image.White, Face: basicfont.Face7x13, Dot: fixed.P(100, 20)}).DrawString("INVENTED")
	fmt.Println(Find(img))
	// Output: [(91,6)-(165,25)]
}

// BenchmarkFindNoise searches the picture with the most blobs: noise, of the size of a film.
func BenchmarkFindNoise(b *testing.B) {
	img := image.NewGray16(image.Rect(0, 0, 2400, 2880))
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range img.Pix {
		img.Pix[i] = byte(rng.IntN(256))
	}
	for b.Loop() {
		Find(img)
	}
}
