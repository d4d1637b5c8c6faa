package raster

import (
	"image"
	"image/color"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// noiseFilm returns a film of 3000 x 3000 random greys.
func noiseFilm() *image.Gray16 {
	img := image.NewGray16(image.Rect(0, 0, 3000, 3000))
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range img.Pix {
		img.Pix[i] = byte(rng.Uint32())
	}
	return img
}

// BenchmarkFrame times one picture of 1600 x 1000 of a 3000 x 3000 film, by what
// changed since the last one. The median is reported beside the mean; the floors
// are 10 ms for pan and zoom, 4 ms for level and circle.
func BenchmarkFrame(b *testing.B) {
	base := Scene{
		Width: 1600, Height: 1000, Zoom: 1.0 / 3, X: -900, Scale: 1, Greys: Greys{Center: 32768, Window: 65536},
		Rings: []Ring{
			{X: 1500, Y: 1500, R: 180, Width: 1.4, Cross: 6, Color: color.RGBA{255, 180, 80, 255}},
			{X: 1500, Y: 1490, R: 340, Width: 1.4, Cross: 6, Color: color.RGBA{90, 200, 255, 255}},
		},
	}
	for _, c := range []struct {
		name   string
		change func(s *Scene, i int)
	}{
		{"pan fit", func(s *Scene, i int) { s.X = -900 + float64(i%40) }},
		{"pan 1:1", func(s *Scene, i int) { s.Zoom, s.X, s.Y = 1, 700+float64(i%40)/3, 900 }},
		{"pan 3:1", func(s *Scene, i int) { s.Zoom, s.X, s.Y = 3, 1200+float64(i%40)/3, 1200 }},
		{"zoom", func(s *Scene, i int) { s.Zoom = 0.33 + float64(i%40)/50 }},
		{"level", func(s *Scene, i int) { s.Window = 40000 + float64(i%40)*100 }},
		{"level with local contrast", func(s *Scene, i int) {
			s.Zoom, s.X, s.Y, s.Local = 1, 700, 1000, Local{1500, 1490, 340}
			s.Window = 40000 + float64(i%40)*100
		}},
		{"local contrast moved", func(s *Scene, i int) {
			s.Zoom, s.X, s.Y, s.Local = 1, 700, 1000, Local{1500 + float64(i%40), 1490, 340}
		}},
		{"loupe", func(s *Scene, i int) {
			s.Zoom, s.X, s.Y = 1, 700, 1000
			s.Loupe = &Loupe{X: 700 + float64(i%40), Y: 500, At: [2]float64{700 + float64(i%40), 500}, R: 90, Times: 3}
		}},
		{"circle", func(s *Scene, i int) { s.Rings[0].X = 1500 + float64(i%40)/10 }},
	} {
		b.Run(c.name, func(b *testing.B) {
			var f Frame
			f.SetFilm(noiseFilm())
			s := base
			s.Rings = slices.Clone(base.Rings)
			f.Draw(s)
			var times []time.Duration
			i := 0
			for b.Loop() {
				i++
				c.change(&s, i)
				start := time.Now()
				f.Draw(s)
				times = append(times, time.Since(start))
			}
			slices.Sort(times)
			b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "median-ms")
		})
	}
}
