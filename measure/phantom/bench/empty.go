package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// emptyCounts are the films without a hip replacement.
type emptyCounts struct{ films, refused int }

// emptyFilms are the kinds of film without a hip replacement.
var emptyFilms = []string{"native", "native, poor", "stem alone", "native", "chest", "noise"}

// refusals asks for a hip on films that show none.
func refusals(c config) (n emptyCounts, err error) {
	refused := make([]bool, c.empty)
	err = inParallel(c.jobs, c.empty, func(i int) error {
		rng := rand.New(rand.NewPCG(c.seed, 1<<32+uint64(i)))
		what := emptyFilms[i%len(emptyFilms)]
		img, spacing, err := c.emptyFilm(what, rng)
		if err != nil {
			return fmt.Errorf("%s: %w", what, err)
		}
		opt := find.Options{HeadMM: 22 + 2*float64(rng.IntN(10)), Spacing: spacing}
		if c.blind || rng.IntN(3) == 0 {
			opt.Spacing = 0
		}
		hips, err := find.Hips(context.Background(), img, opt)
		var refusal *measure.Refusal
		switch {
		case errors.As(err, &refusal):
			refused[i] = true
		case err != nil:
			return err
		default:
			c.say("empty film %d, %s, %+v: found a %s at %.0f, %.0f, cup %.0f, %.0f", i, what, opt, hips[0].CupKind, hips[0].Head.X, hips[0].Head.Y, hips[0].Cup.X, hips[0].Cup.Y)
		}
		return nil
	})
	n.films = c.empty
	for _, r := range refused {
		if r {
			n.refused++
		}
	}
	return n, err
}

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
