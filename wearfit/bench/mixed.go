package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"linerwatch/wearfit"
	"linerwatch/wearfit/mixed"
)

// scene is a cohort to be drawn: films of each hip at the same years.
type scene struct {
	hips             int
	films            int
	sdIntercept      float64 // between hips, mm
	sdRate, sd       float64 // between hips, mm/year; of a reading, mm
	base, difference float64 // SD of the baseline's reading, mm; of the second half's rates, mm/year
}

// draw returns the cohort, with the group and its product with time among the fixed
// effects where grouped, and the true lines of its hips.
func (s scene) draw(r *rand.Rand, grouped bool) (d mixed.Data, truth map[string][2]float64) {
	truth = map[string][2]float64{}
	d = mixed.Data{Fixed: make([][]float64, 2), Names: []string{"intercept", "rate"}}
	if grouped {
		d.Fixed, d.Names = make([][]float64, 4), append(d.Names, "group", "rate of group")
	}
	for h := range s.hips {
		name, g := fmt.Sprintf("H%d", h), float64(h%2)
		a, b := trueBedding+s.sdIntercept*r.NormFloat64(), trueRate+s.sdRate*r.NormFloat64()+g*s.difference
		truth[name] = [2]float64{a, b}
		shared := s.base * r.NormFloat64()
		for _, t := range schedules[s.films] {
			d.Hip, d.Time = append(d.Hip, name), append(d.Time, t)
			d.Value = append(d.Value, a+shared+b*t+s.sd*r.NormFloat64())
			if s.base > 0 {
				d.BaseSE = append(d.BaseSE, s.base)
			}
			for j, v := range []float64{1, t, g, g * t}[:len(d.Fixed)] {
				d.Fixed[j] = append(d.Fixed[j], v)
			}
		}
	}
	return d, truth
}

// shrinkage writes how often the intervals of shrunken rates and intercepts hold the
// hips' true ones: with the variances taken as known, and integrated over.
func shrinkage(w io.Writer, runs int, seed uint64) error {
	if _, err := fmt.Fprintf(w, "coverage of the 95 %% intervals of hips' shrunken lines, %d hips or more a line; mm, mm/year\n hips films  SD: rates intercepts reading baseline  known: rate %% intercept %%  integrated: rate %% intercept %%  not integrated %%\n", runs); err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(seed, 8))
	for _, hips := range []int{4, 5, 10, 20, 100} {
		for _, s := range []scene{
			{hips: hips, films: 3, sdIntercept: 0.08, sdRate: 0.03, sd: 0.06},
			{hips: hips, films: 4, sdIntercept: 0.08, sdRate: 0.03, sd: 0.06},
			{hips: hips, films: 4, sdIntercept: 0.08, sdRate: 0.01, sd: 0.1},
			{hips: hips, films: 6, sdIntercept: 0.05, sdRate: 0.02, sd: 0.05, base: 0.05},
		} {
			if err := s.shrink(w, r, runs); err != nil {
				return err
			}
		}
	}
	return nil
}

func (s scene) shrink(w io.Writer, r *rand.Rand, runs int) error {
	var hit [4]float64
	all, fitted, failed := 0.0, 0.0, 0.0
	of := func(string) (a, b []float64) { return []float64{1, 0}, []float64{0, 1} }
	for range runs/s.hips + 1 {
		d, truth := s.draw(r, false)
		m, err := mixed.Fit(d, mixed.Options{})
		if err != nil {
			return err
		}
		a, b := of("")
		for _, e := range m.Effects() {
			k := m.Shrink(e, a, b)
			all++
			count(&hit[0], k.Rate.Interval(0.95), truth[e.Hip][1])
			count(&hit[1], k.Intercept.Interval(0.95), truth[e.Hip][0])
		}
		list, err := m.Integrate(of, 0.95, 1)
		if err != nil {
			failed += float64(s.hips)
			continue
		}
		for _, e := range list {
			fitted++
			count(&hit[2], e.Rate.Interval, truth[e.Hip][1])
			count(&hit[3], e.Intercept.Interval, truth[e.Hip][0])
		}
	}
	share := func(i int, of float64) float64 { return 100 * hit[i] / math.Max(of, 1) }
	_, err := fmt.Fprintf(w, "%5d %5d  %9.2f %10.2f %7.2f %8.2f  %13.1f %11.1f  %18.1f %11.1f  %16.1f\n", s.hips, s.films, s.sdRate, s.sdIntercept, s.sd, s.base,
		share(0, all), share(1, all), share(2, fitted), share(3, fitted), 100*failed/all)
	return err
}

func count(hit *float64, i wearfit.Interval, truth float64) {
	if i.Contains(truth) {
		*hit++
	}
}

// sizes writes how often tests at 5 % find a difference of rates between two groups
// that are alike.
func sizes(w io.Writer, runs int, seed uint64) error {
	if _, err := fmt.Fprintf(w, "groups that are alike found to differ in rate at 5 %%, %d cohorts a line, percent\n hips films  SD of rates  chi-square  Satterthwaite  Kenward-Roger  drawn cohorts\n", runs); err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(seed, 9))
	for _, s := range []scene{
		{hips: 8, films: 4, sdIntercept: 0.08, sdRate: 0.03, sd: 0.06},
		{hips: 10, films: 4, sdIntercept: 0.08, sdRate: 0.03, sd: 0.06},
		{hips: 10, films: 4, sdIntercept: 0.08, sdRate: 0.01, sd: 0.06},
		{hips: 20, films: 4, sdIntercept: 0.08, sdRate: 0.03, sd: 0.06},
	} {
		var found [4]float64
		for range runs {
			d, _ := s.draw(r, true)
			p, err := rejections(d)
			if err != nil {
				return err
			}
			for i, v := range p {
				if v < 0.05 {
					found[i] += 100 / float64(runs)
				}
			}
		}
		if _, err := fmt.Fprintf(w, "%5d %5d  %11.2f  %10.1f  %13.1f  %13.1f  %13.1f\n", s.hips, s.films, s.sdRate, found[0], found[1], found[2], found[3]); err != nil {
			return err
		}
	}
	return nil
}

// rejections are the p of chi-square, Satterthwaite, Kenward-Roger and drawn cohorts.
func rejections(d mixed.Data) (p [4]float64, err error) {
	reml, err := mixed.Fit(d, mixed.Options{})
	if err != nil {
		return p, err
	}
	k, err := mixed.NewKenward(reml)
	if err != nil {
		return p, err
	}
	larger, err := mixed.Fit(d, mixed.Options{ML: true})
	if err != nil {
		return p, err
	}
	d.Fixed, d.Names = d.Fixed[:3], d.Names[:3]
	smaller, err := mixed.Fit(d, mixed.Options{ML: true})
	if err != nil {
		return p, err
	}
	chi, err := mixed.LikelihoodRatio(larger, smaller)
	if err != nil {
		return p, err
	}
	b, err := mixed.BootstrapRatio(larger, smaller, 99, 1)
	return [4]float64{chi.P, reml.Estimate(3).P(0), k.Estimate(3).P(0), b.P}, err
}
