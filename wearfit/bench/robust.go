package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"linerwatch/wearfit"
	"linerwatch/wearfit/mixed"
)

// robustness writes how often the intervals of the robust mixed model hold the mean rate and
// the difference of two groups' rates: by the sandwich of the patients' scores, and by the
// expected information of the t distribution with the patients less the fixed effects.
func robustness(w io.Writer, runs int, seed uint64) error {
	if _, err := fmt.Fprintf(w, "coverage of the 95 %% intervals of the robust mixed model, %d cohorts a line, percent\n hips films  in ten wild  sandwich: rate difference  width mm/year  information: rate difference  width mm/year  failed\n", runs); err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(seed, 14))
	for _, s := range []scene{{hips: 10, films: 4}, {hips: 20, films: 4}, {hips: 20, films: 6}, {hips: 50, films: 4}, {hips: 200, films: 4}} {
		for _, wild := range []float64{0, 1} {
			s.sdIntercept, s.sdRate, s.sd, s.difference = 0.08, 0.03, 0.06, 0.04
			if err := s.robust(w, r, runs, wild/10); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s scene) robust(w io.Writer, r *rand.Rand, runs int, wild float64) error {
	var hit [4]float64
	var width [2]float64
	fitted, failed := 0.0, 0
	for range runs {
		d, _ := s.draw(r, true)
		shake(d, r, wild)
		m, err := mixed.FitRobust(d, mixed.Options{}, 4)
		if err != nil {
			failed++
			continue
		}
		fitted++
		for k, truth := range []float64{trueRate, s.difference} {
			j := 1 + 2*k
			c := make([]float64, len(m.Coef))
			c[j] = 1
			e := m.Combine(c)
			plain := wearfit.Estimate{Value: e.Value, SE: math.Sqrt(m.Cov.At(j, j)), DF: float64(m.Patients - len(m.Coef))}
			for i, by := range []wearfit.Interval{e.Interval(0.95), plain.Interval(0.95)} {
				count(&hit[2*i+k], by, truth)
				width[i] += float64(k) * (by.Hi - by.Lo)
			}
		}
	}
	share := func(i int) float64 { return 100 * hit[i] / fitted }
	_, err := fmt.Fprintf(w, "%5d %5d %12.0f  %14.1f %10.1f  %13.4f  %17.1f %10.1f  %13.4f  %6d\n", s.hips, s.films, 10*wild,
		share(0), share(1), width[0]/fitted, share(2), share(3), width[1]/fitted, failed)
	return err
}

// shake gives some hips a rate that is far off, to either side.
func shake(d mixed.Data, r *rand.Rand, wild float64) {
	off := map[string]float64{}
	for i, hip := range d.Hip {
		if _, ok := off[hip]; !ok {
			off[hip] = 0
			if r.Float64() < wild {
				off[hip] = 0.2 * r.NormFloat64()
			}
		}
		d.Value[i] += off[hip] * d.Time[i]
	}
}
