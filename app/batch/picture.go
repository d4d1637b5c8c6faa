package batch

import (
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"time"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/app/ui/raster"
	"linerwatch/dicomio"
)

// StoredPNG writes the stored values of one frame of the film at path as a
// 16-bit grey PNG.
func StoredPNG(path string, frame int, w io.Writer) error {
	f, err := source.Frame(path, frame, time.Time{})
	if err != nil {
		return err
	}
	return f.WriteStoredPNG(w)
}

// FileOf returns the file that a film is in.
func FileOf(film string) string { return source.FileOf(film) }

// DisplayPNG writes one frame of the film at path as an 8-bit grey PNG, upright,
// with square pixels and in the greys that its file asks for.
func DisplayPNG(path string, frame int, w io.Writer) error {
	f, err := source.Frame(path, frame, time.Time{})
	if err != nil {
		return err
	}
	if f, err = source.Ready(f); err != nil {
		return err
	}
	return png.Encode(w, f.Display(nil))
}

// The colours of outlines on a picture, and the longer side that it has at most, pixels:
// a film of 3000 pixels would take 27 MB.
var (
	headColor = color.RGBA{255, 209, 102, 255}
	cupColor  = color.RGBA{93, 173, 226, 255}
)

const pictureSide = 1600

// outlined is a film, made ready, in the greys that its file asks for with the outlines
// of a measurement over it. Larger ones are made smaller.
func outlined(ready *dicomio.Film, m study.Measurement) image.Image {
	grey := ready.Display(nil)
	wide := image.NewGray16(grey.Rect)
	for i, v := range grey.Pix { // rows of both are without gaps
		wide.Pix[2*i], wide.Pix[2*i+1] = v, v
	}
	w, h := grey.Rect.Dx(), grey.Rect.Dy()
	zoom := min(1, pictureSide/float64(max(w, h)))
	s := raster.Scene{
		Width: int(math.Ceil(float64(w) * zoom)), Height: int(math.Ceil(float64(h) * zoom)), Zoom: zoom,
		Greys: raster.Greys{Center: 1 << 15, Window: 1 << 16},
		Rings: []raster.Ring{{X: m.Head.X, Y: m.Head.Y, R: m.Head.R, Color: headColor, Width: 1.8, Cross: 6}},
	}
	add := func(e study.Ellipse) {
		s.Wires = append(s.Wires, raster.Wire{Ellipse: raster.Ellipse(e), Color: cupColor, Width: 1.2})
	}
	if ring := m.Cup.Ring; ring.B > 0 {
		add(ring)
	} else {
		s.Rings = append(s.Rings, raster.Ring{X: m.Cup.X, Y: m.Cup.Y, R: m.Cup.R, Color: cupColor, Width: 1.8, Cross: 6})
	}
	if o, ok := m.Orientation(); ok && o.Found {
		add(m.Rim.Found)
	}
	var f raster.Frame
	f.SetFilm(wide)
	return f.Draw(s)
}
