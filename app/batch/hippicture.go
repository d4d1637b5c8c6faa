package batch

import (
	"context"
	"image"
	"math"
	"sync"
	"time"

	"golang.org/x/image/draw"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// HipPicture is the part of a film around a hip, in the greys that its file asks for: its
// top-left corner on the film, px, and pixels of the picture for one of the film.
type HipPicture struct {
	Image image.Image
	At    study.Pixel
	Zoom  float64
}

// around is how far a picture reaches from the cup's centre, in its radii.
const around = 1.45

// HipPictures returns pictures, side pixels at most, of the films of measurements, by their
// IDs. A film whose file is not there, or holds another picture than was read, is left out;
// the only error is that of ctx.
func HipPictures(ctx context.Context, ms []study.Measurement, side int) (map[string]HipPicture, error) {
	var mu sync.Mutex
	out := map[string]HipPicture{}
	err := parallel(ctx, len(ms), nil, func(i int) {
		if p, ok := hipPicture(ms[i], side); ok {
			mu.Lock()
			out[ms[i].Film.ID] = p
			mu.Unlock()
		}
	})
	return out, err
}

func hipPicture(m study.Measurement, side int) (p HipPicture, ok bool) {
	if m.Status != study.Measured || !(m.Cup.R > 0) || Lacks(m.Film) {
		return p, false
	}
	f, err := source.Frame(m.Film.Path, 1, time.Time{})
	if err == nil {
		f, err = source.Ready(f)
	}
	if err != nil || !source.FactsOf(f).SamePicture(m.Film.Facts) {
		return p, false
	}
	return cropped(f, m.Cup.Center(), around*m.Cup.R, side), true
}

// cropped is the square of a film around a point, as far as the film reaches.
func cropped(f *dicomio.Film, c study.Pixel, reach float64, side int) HipPicture {
	b := f.Pixels.Rect
	r := image.Rect(int(math.Floor(c.X-reach)), int(math.Floor(c.Y-reach)), int(math.Ceil(c.X+reach)), int(math.Ceil(c.Y+reach)))
	r = r.Add(b.Min).Intersect(b)
	grey := f.Display(nil).SubImage(r)
	p := HipPicture{At: study.Pixel{X: float64(r.Min.X - b.Min.X), Y: float64(r.Min.Y - b.Min.Y)}, Zoom: 1, Image: grey}
	if longer := max(r.Dx(), r.Dy()); longer > side {
		p.Zoom = float64(side) / float64(longer)
		small := image.NewGray(image.Rect(0, 0, int(math.Round(float64(r.Dx())*p.Zoom)), int(math.Round(float64(r.Dy())*p.Zoom))))
		draw.CatmullRom.Scale(small, small.Rect, grey, r, draw.Src, nil)
		p.Image = small
	}
	return p
}
