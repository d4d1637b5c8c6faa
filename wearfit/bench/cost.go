package main

import (
	"fmt"
	"io"
	"math/rand/v2"
	"runtime"
	"slices"
	"time"

	"linerwatch/wearfit"
)

// costs times the fit of a mixed model with two groups, random intercept and
// slope, REML, six films a hip.
func costs(w io.Writer, seed uint64) error {
	if _, err := fmt.Fprintln(w, "\nmixed model, REML, random intercept and slope, two groups, 6 films a hip\n   hips   median s  us a hip  evaluations  allocated MB"); err != nil {
		return err
	}
	for _, hips := range []int{1000, 10_000, 100_000} {
		d := cohort(hips, seed)
		times := make([]float64, 5)
		var m wearfit.Mixed
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		for i := range times {
			start := time.Now()
			var err error
			if m, err = wearfit.FitMixed(d, wearfit.MixedOptions{}); err != nil {
				return err
			}
			times[i] = time.Since(start).Seconds()
		}
		runtime.ReadMemStats(&after)
		slices.Sort(times)
		mid := times[len(times)/2]
		mb := float64(after.TotalAlloc-before.TotalAlloc) / float64(len(times)) / (1 << 20)
		if _, err := fmt.Fprintf(w, "%7d  %9.4f  %8.2f  %11d  %12.1f\n", hips, mid, 1e6*mid/float64(hips), m.Evaluations, mb); err != nil {
			return err
		}
	}
	return nil
}

// cohort simulates hips of two groups.
func cohort(hips int, seed uint64) wearfit.MixedData {
	r := rand.New(rand.NewPCG(seed, 6))
	d := wearfit.MixedData{Fixed: make([][]float64, 4), Names: []string{"intercept", "rate", "group", "rate of group"}}
	for h := range hips {
		a, b, g := 0.12+0.08*r.NormFloat64(), 0.1+0.03*r.NormFloat64(), float64(h%2)
		name := fmt.Sprintf("H%d", h)
		for range 6 {
			t := 1 + 13*r.Float64()
			d.Hip, d.Time = append(d.Hip, name), append(d.Time, t)
			d.Value = append(d.Value, a+(b-0.07*g)*t+0.06*r.NormFloat64())
			for j, v := range []float64{1, t, g, g * t} {
				d.Fixed[j] = append(d.Fixed[j], v)
			}
		}
	}
	return d
}
