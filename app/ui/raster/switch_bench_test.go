package raster

import (
	"image"
	"slices"
	"testing"
	"time"
)

// BenchmarkSwitch times the first picture of another decoded film of 3000 x 3000,
// 1600 x 1000 large: what opening the next film costs once it is read. The floor is
// 100 ms.
func BenchmarkSwitch(b *testing.B) {
	films := []*image.Gray16{noiseFilm(), noiseFilm()}
	s := Scene{Width: 1600, Height: 1000, Zoom: 1.0 / 3, X: -900, Scale: 1, Greys: Greys{Center: 32768, Window: 65536}}
	var f Frame
	var times []time.Duration
	i := 0
	for b.Loop() {
		i++
		start := time.Now()
		f.SetFilm(films[i%2])
		f.Draw(s)
		times = append(times, time.Since(start))
	}
	slices.Sort(times)
	b.ReportMetric(float64(times[len(times)/2].Microseconds())/1000, "median-ms")
}
