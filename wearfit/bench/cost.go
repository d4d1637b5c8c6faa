package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"slices"
	"strings"
	"time"

	"linerwatch/wearfit/mixed"
)

// costs times the fit of a mixed model with two groups, random intercept and
// slope, REML, six films a hip, the last line of a million films: by sums over each hip's
// films, and with each film's error known by whole blocks.
func costs(w io.Writer, seed uint64) error {
	for _, known := range []bool{false, true} {
		title := "nothing known of errors"
		if known {
			title = "every film's error known"
		}
		if _, err := fmt.Fprintf(w, "\nmixed model, REML, random intercept and slope, two groups, 6 films a hip, %s\n   hips   median s  us a hip  evaluations  allocated MB  process MB\n", title); err != nil {
			return err
		}
		for _, hips := range []int{1000, 10_000, 100_000, 166_667} {
			d := cohort(hips, seed)
			if known {
				d.SE = make([]float64, len(d.Hip))
				for i := range d.SE {
					d.SE[i] = 0.02 + 0.001*float64(i%31)
				}
			}
			m, mid, mb, err := timed(d)
			if err != nil {
				return err
			}
			if _, err := fmt.Fprintf(w, "%7d  %9.4f  %8.2f  %11d  %12.1f  %10.1f\n", hips, mid, 1e6*mid/float64(hips), m.Evaluations, mb, process()); err != nil {
				return err
			}
		}
	}
	return nil
}

// process returns the megabytes that the program has had from the system so far,
// the films among them.
func process() float64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.Sys) / (1 << 20)
}

// timed fits the model five times, a large one once, and returns the median of the seconds and
// the megabytes allocated by one fit.
func timed(d mixed.Data) (m mixed.Model, seconds, mb float64, err error) {
	times := make([]float64, 5)
	if len(d.Hip) > 100_000 {
		times = times[:1] // a longer fit varies less
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for i := range times {
		start := time.Now()
		if m, err = mixed.Fit(d, mixed.Options{}); err != nil {
			return m, 0, 0, err
		}
		times[i] = time.Since(start).Seconds()
	}
	runtime.ReadMemStats(&after)
	slices.Sort(times)
	return m, times[len(times)/2], float64(after.TotalAlloc-before.TotalAlloc) / float64(len(times)) / (1 << 20), nil
}

// single fits one cohort and writes its films, for another program to fit.
func single(w io.Writer, hips int, seed uint64, out string) error {
	d := cohort(hips, seed)
	m, seconds, mb, err := timed(d)
	if err != nil {
		return err
	}
	if _, err := fmt.Fprintf(w, "wearfit: %d hips, median %.4f s, %.1f MB allocated, process %.1f MB, rate of group %.8f (se %.8f), residual SD %.8f, log-likelihood %.6f\n",
		hips, seconds, mb, process(), m.Coef[3], math.Sqrt(m.Cov.At(3, 3)), m.Sigma, m.LogLik); err != nil || out == "" {
		return err
	}
	var b strings.Builder
	b.WriteString("hip,years,penetration,group\n")
	for i := range d.Hip {
		fmt.Fprintf(&b, "%s,%.17g,%.17g,%g\n", d.Hip[i], d.Time[i], d.Value[i], d.Fixed[2][i])
	}
	return os.WriteFile(out, []byte(b.String()), 0o600)
}

// cohort simulates hips of two groups.
func cohort(hips int, seed uint64) mixed.Data {
	r := rand.New(rand.NewPCG(seed, 6))
	d := mixed.Data{Fixed: make([][]float64, 4), Names: []string{"intercept", "rate", "group", "rate of group"}}
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
