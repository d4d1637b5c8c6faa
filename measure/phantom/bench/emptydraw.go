package main

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
)

// chest draws two lungs with ribs.
func chest(rng *rand.Rand) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, 900, 900))
	lung := func(x, y, at float64) float64 {
		return math.Exp(-math.Pow((x-at)/110, 4) - math.Pow((y-420)/300, 4))
	}
	for y := range 900 {
		for x := range 900 {
			fx, fy := float64(x), float64(y)
			rib := 2000 * math.Sin(fy/18+math.Abs(fx-450)/120)
			v := 30000 - 15000*(lung(fx, fy, 250)+lung(fx, fy, 650)) + rib + 300*rng.NormFloat64()
			img.SetGray16(x, y, color.Gray16{Y: uint16(v)})
		}
	}
	return img
}

// static draws noise.
func static(rng *rand.Rand) *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, 1200, 1000))
	for i := range img.Pix {
		img.Pix[i] = byte(rng.IntN(256))
	}
	return img
}
