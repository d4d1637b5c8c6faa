package main

import (
	"errors"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"

	"linerwatch/measure"
)

// writeLook writes a film as a picture of 8 bits for a person to look at, its
// darkest pixel black and its brightest white, with the true outlines dotted
// where they are known.
func writeLook(folder string, f *film, img *image.Gray16) (err error) {
	name := strings.NewReplacer(" ", "-", ",", "", "/", "-").Replace(f.set+" "+f.hip+" "+f.name) + ".png"
	file, err := os.Create(filepath.Join(folder, name))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	lo, hi := uint16(math.MaxUint16), uint16(0)
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			v := img.Gray16At(x, y).Y
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	out := image.NewRGBA(img.Rect)
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			v := uint8(255 * int(img.Gray16At(x, y).Y-lo) / max(1, int(hi-lo)))
			out.SetRGBA(x, y, color.RGBA{v, v, v, 255})
		}
	}
	if t := f.truth; t != nil {
		dot(out, measure.Ellipse{X: t.head.X, Y: t.head.Y, A: t.head.R, B: t.head.R})
		if t.kind == measure.Wire && t.rim.A > 0 {
			dot(out, t.rim)
		} else {
			dot(out, measure.Ellipse{X: t.cup.X, Y: t.cup.Y, A: t.cup.R, B: t.cup.R})
		}
	}
	return png.Encode(file, out)
}

// dot draws an ellipse as dots far apart, so that the film's own edge is seen
// between them.
func dot(out *image.RGBA, e measure.Ellipse) {
	sinA, cosA := math.Sincos(e.Angle * math.Pi / 180)
	for i := range 72 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 72)
		x, y := e.X+e.A*cos*cosA-e.B*sin*sinA, e.Y+e.A*cos*sinA+e.B*sin*cosA
		for _, d := range []image.Point{{}, {1, 0}, {0, 1}, {1, 1}} {
			out.SetRGBA(int(x)+d.X, int(y)+d.Y, color.RGBA{255, 60, 0, 255})
		}
	}
}
