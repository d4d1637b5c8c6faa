package main

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"

	"linerwatch/measure/phantom"
)

// emptyFilms are the kinds of film without a hip replacement.
var emptyFilms = []string{"native", "native, poor", "stem alone", "native", "chest", "noise"}

// emptyFilm draws a film of a kind.
func (c config) emptyFilm(what string, rng *rand.Rand) (*image.Gray16, float64, error) {
	s := patient(rng)
	s.Tilt, s.Rotation = 2*rng.NormFloat64(), 2*rng.NormFloat64()
	switch what {
	case "chest":
		return chest(rng), 0.4, nil
	case "noise":
		return static(rng), s.Spacing, nil
	case "native, poor":
		s = phantom.Hard(s)
	case "stem alone":
		// The film ends below the neck: a femur with a nail, as it were.
		h := drawHip(rng, kinds[0])
		s.Hips = []phantom.Hip{h}
		s = s.Around(h.Side, 120)
		s.Window = s.Window.Add(image.Pt(0, int(110/s.Spacing))).Intersect(image.Rect(0, 0, s.Width, s.Height))
	}
	img, err := c.render(s)
	return img, s.Spacing, err
}

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
