package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"linerwatch/wearfit"
)

// The true hip: bedding-in that is over by one year, then steady wear.
const (
	trueRate    = 0.06 // mm/year
	trueBedding = 0.15 // mm
	trueTau     = 0.25 // years, of bedding-in that dies away
)

// schedules are the years of the films from one year on.
var schedules = map[int][]float64{
	3: {1, 2, 5},
	4: {1, 2, 5, 10},
	5: {1, 2, 3, 5, 10},
	6: {1, 2, 3, 5, 7, 10},
	7: {1, 2, 3, 5, 7, 10, 12},
	8: {1, 2, 3, 5, 7, 8, 10, 12},
	9: {1, 2, 3, 4, 5, 7, 8, 10, 12},
}

// coverage writes how often the intervals of the line's rate and bedding-in
// hold the truth.
func coverage(w io.Writer, runs int, seed uint64) (bool, error) {
	if _, err := fmt.Fprintf(w, "coverage of the 95 %% intervals, %d hips a line, rate %g mm/year, bedding-in %g mm\n", runs, trueRate, trueBedding); err != nil {
		return false, err
	}
	if _, err := fmt.Fprintln(w, "films  SD mm  rate %  bedding-in %  next film %  mean width of the rate's interval"); err != nil {
		return false, err
	}
	r := rand.New(rand.NewPCG(seed, 5))
	all := true
	for films := 3; films <= 9; films++ {
		for _, sd := range []float64{0.03, 0.05, 0.1, 0.2} {
			c, err := lines(r, schedules[films], sd, runs)
			if err != nil {
				return false, err
			}
			verdict := ""
			for _, p := range c[:3] {
				if p < 0.93 || p > 0.97 {
					verdict, all = "  outside 93-97", false
				}
			}
			if _, err := fmt.Fprintf(w, "%5d  %5.2f  %6.2f  %12.2f  %11.2f  %.3f%s\n", films, sd, 100*c[0], 100*c[1], 100*c[2], c[3], verdict); err != nil {
				return false, err
			}
		}
	}
	return all, curves(w, r, runs/8+1)
}

// lines simulates hips and returns the shares of intervals that hold the rate,
// the bedding-in and one further film, and the mean width of the first.
func lines(r *rand.Rand, times []float64, sd float64, runs int) (out [4]float64, err error) {
	y := make([]float64, len(times))
	for range runs {
		for i, t := range times {
			y[i] = trueBedding + trueRate*t + sd*r.NormFloat64()
		}
		l, err := wearfit.FitLine(times, y, nil)
		if err != nil {
			return out, err
		}
		next := times[len(times)-1] + 2
		held := [3]wearfit.Interval{}
		held[0].Lo, held[0].Hi = l.SlopeInterval(0.95)
		held[1].Lo, held[1].Hi = l.InterceptInterval(0.95)
		held[2].Lo, held[2].Hi = l.PredictInterval(next, 0.95)
		for i, truth := range []float64{trueRate, trueBedding, trueBedding + trueRate*next + sd*r.NormFloat64()} {
			if held[i].Contains(truth) {
				out[i] += 1 / float64(runs)
			}
		}
		out[3] += (held[0].Hi - held[0].Lo) / float64(runs)
	}
	return out, nil
}

// curves writes the same for the models whose intervals are of profile
// likelihood; they are approximate and only reported.
func curves(w io.Writer, r *rand.Rand, runs int) error {
	times := []float64{0.1, 0.25, 0.5, 1, 2, 3, 5, 7, 10}
	if _, err := fmt.Fprintf(w, "\nprofile-likelihood intervals, %d hips a line, %d films from 0.1 to 10 years (for information)\nmodel                SD mm  rate %%  not identifiable %%\n", runs, len(times)); err != nil {
		return err
	}
	for _, sd := range []float64{0.01, 0.03, 0.1} {
		var held, open [2]float64
		y := make([]float64, len(times))
		for range runs {
			for k, bend := range []func(t float64) float64{
				func(t float64) float64 { return math.Min(t, 1) },
				func(t float64) float64 { return -math.Expm1(-t / trueTau) },
			} {
				for i, t := range times {
					y[i] = trueBedding*bend(t) + trueRate*t + sd*r.NormFloat64()
				}
				ci, told, err := curve(k, times, y)
				if err != nil {
					return err
				}
				if ci.Contains(trueRate) {
					held[k] += 100 / float64(runs)
				}
				if !told {
					open[k] += 100 / float64(runs)
				}
			}
		}
		for k, name := range []string{"broken line", "bedding-in and line"} {
			if _, err := fmt.Fprintf(w, "%-19s  %5.2f  %6.2f  %18.2f\n", name, sd, held[k], open[k]); err != nil {
				return err
			}
		}
	}
	return nil
}

func curve(k int, t, y []float64) (ci wearfit.Interval, told bool, err error) {
	if k == 0 {
		s, err := wearfit.FitStick(t, y, nil)
		return s.RateInterval(0.95), s.Identifiable(), err
	}
	b, err := wearfit.FitBedding(t, y, nil)
	if err != nil {
		return ci, false, err
	}
	return b.RateInterval(0.95), b.Identifiable(), nil
}
