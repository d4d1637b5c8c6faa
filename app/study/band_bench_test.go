package study

import "testing"

// A chart asks for the band of a model at about eighty times.
func BenchmarkBands(b *testing.B) {
	var points []Point
	for i, y := range []float64{0.03, 0.06, 0.11, 0.22, 0.27, 0.34, 0.45, 0.56, 0.76} {
		points = append(points, Point{Years: []float64{0.1, 0.25, 0.5, 1, 2, 3, 5, 7, 10}[i], MM: y})
	}
	h := newHipFilms("H", points, 1)
	for _, k := range []ModelKind{brokenLine, beddingCurve} {
		b.Run(k.Code, func(b *testing.B) {
			for b.Loop() {
				m := k.to(h)
				for k := range 80 {
					m.Mean(float64(k) / 4)
				}
			}
		})
	}
}
