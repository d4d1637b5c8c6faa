package mixed

import (
	"fmt"
	"testing"
)

// Fits of small cohorts, as drawn cohorts need them: by sums, and by whole blocks.
func BenchmarkFitSmall(b *testing.B) {
	for _, hips := range []int{8, 30} {
		d := simulated(hips, false, 3)
		known := d
		known.SE = make([]float64, len(d.Hip))
		for i := range known.SE {
			known.SE[i] = 0.03
		}
		for name, d := range map[string]Data{"plain": d, "known errors": known} {
			b.Run(fmt.Sprintf("%s, %d hips x 6 films", name, hips), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Fit(d, Options{}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// Shrunken lines integrated over the variances, at the most hips that are.
func BenchmarkIntegrate(b *testing.B) {
	m, err := Fit(simulated(SmallCohort-1, false, 3), Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := m.Integrate(lineOfGroup, 0.95, 1); err != nil {
			b.Fatal(err)
		}
	}
}

// A large cohort with every film's error known.
func BenchmarkFitKnown(b *testing.B) {
	d := simulated(5000, false, 3)
	d.SE = make([]float64, len(d.Hip))
	for i := range d.SE {
		d.SE[i] = 0.02 + 0.001*float64(i%31)
	}
	for b.Loop() {
		if _, err := Fit(d, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
