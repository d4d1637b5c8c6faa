package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strconv"

	"linerwatch/wearfit"
	"linerwatch/wearfit/survive"
)

// linerWorld is how liners fail. The hazard of a revision is that of an exponential
// time times exp(beta (rate - 0.1)) on average over patients, whatever the dependence:
// a patient's two hips share a positive stable factor of index stable, which keeps
// hazards proportional (Hougaard P. Biometrika 1986;73:387-396); 1 is independence.
type linerWorld struct {
	patients       int // two of three have two hips
	hazard, deaths float64
	beta, stable   float64
}

// linerAt is the year at which shares are judged.
const linerAt = 10

// simulated is a liner with its values.
type simulated struct {
	survive.Liner
	rate  float64
	group int
}

// draw makes liners; groups do not matter.
func (w linerWorld) draw(r *rand.Rand) []simulated {
	var out []simulated
	for p := range w.patients {
		factor, death, seen := w.factor(r), r.ExpFloat64()/w.deaths, 8+10*r.Float64()
		own := 0.03 * r.NormFloat64()
		for range 1 + min(p%3, 1) {
			rate := math.Abs(0.1 + own + 0.02*r.NormFloat64())
			// Given the factor, -log of the survival is (time h)^(1/stable).
			e := math.Pow(r.ExpFloat64()/factor, w.stable)
			revision := e / (w.hazard * math.Exp(w.beta*(rate-0.1)))
			s := simulated{survive.Liner{Years: min(revision, death, seen), Patient: strconv.Itoa(p)}, rate, r.IntN(2)}
			switch s.Years {
			case revision:
				s.Event = survive.Revised
			case death:
				s.Event = 2
			}
			out = append(out, s)
		}
	}
	return out
}

// factor draws a positive stable number (Kanter M. Ann Probab 1975;3:697-707).
func (w linerWorld) factor(r *rand.Rand) float64 {
	a := w.stable
	if a == 1 {
		return 1
	}
	u := math.Pi * r.Float64()
	return math.Sin(a*u) / math.Pow(math.Sin(u), 1/a) * math.Pow(math.Sin((1-a)*u)/r.ExpFloat64(), (1-a)/a)
}

// linerTable writes liners that fail by a rate, their years to a tenth, for a
// comparison with other programs.
func linerTable(patients int, seed uint64, out string) (err error) {
	w := linerWorld{patients: patients, hazard: 0.02, deaths: 0.03, beta: 8, stable: 0.7}
	rows := [][]string{{"hip", "patient", "pe", "rate", "years", "event"}}
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for i, s := range w.draw(rand.New(rand.NewPCG(seed, 7))) {
		rows = append(rows, []string{fmt.Sprintf("H%d", i), "P" + s.Patient, []string{"a", "b", "c"}[(i*7+s.group)%3], number(s.rate),
			number(math.Ceil(s.Years*10) / 10), strconv.Itoa(s.Event)})
	}
	f, err := os.Create(out)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return csv.NewWriter(f).WriteAll(rows)
}

// linerScore counts the runs in which an interval held the truth, or a test rejected
// it.
type linerScore struct {
	kept          [6]float64 // as the columns of linerCoverage
	none, ratios  int        // runs without a revision, and with a hazard ratio
	logRank, gray float64
}

// linerCoverage writes how often the intervals of liners hold the truth, hips of a
// patient taken as independent or not, and how often tests reject what is true.
func linerCoverage(w io.Writer, runs int, seed uint64) error {
	_, err := fmt.Fprintf(w, `coverage of the 95 %% intervals at %d years and of the hazard ratio of a rate, and rejections at 5 %%, %d runs a line
two of three patients have two hips; dependence is Kendall's tau of two hips; deaths compete (3 %% a year)
                              not revised %%      revised, deaths compete %%  hazard ratio %%     rejected %%
patients  revised %%  tau   hips  patients   hips       patients         hips  patients  log-rank   Gray  runs without a revision
`, linerAt, runs)
	if err != nil {
		return err
	}
	r := rand.New(rand.NewPCG(seed, 8))
	for _, patients := range []int{15, 60, 240} {
		for _, hazard := range []float64{0.005, 0.03} {
			for _, stable := range []float64{1, 0.5} {
				world := linerWorld{patients: patients, hazard: hazard, deaths: 0.03, beta: 0, stable: stable}
				var s linerScore
				for range runs {
					if err := s.judge(world, r); err != nil {
						return err
					}
				}
				n := 100 / float64(runs)
				k := s.kept
				h := 100 / float64(max(s.ratios, 1))
				if _, err := fmt.Fprintf(w, "%8d  %9.1f  %.1f  %5.1f  %8.1f  %5.1f  %13.1f  %11.1f  %8.1f  %8.1f  %5.1f  %d\n", patients, 100*-math.Expm1(-hazard*linerAt),
					1-stable, k[0]*n, k[1]*n, k[2]*n, k[3]*n, k[4]*h, k[5]*h, s.logRank*n, s.gray*n, s.none); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// judge draws once where the rate does not matter, for shares and tests, and once where
// it does.
func (s *linerScore) judge(w linerWorld, r *rand.Rand) error {
	drawn := w.draw(r)
	alone, paired, groups := split(drawn)
	free := math.Exp(-w.hazard * linerAt)
	both := w.hazard + w.deaths
	revised := w.hazard / both * -math.Expm1(-both*linerAt)
	for k, liners := range [][]survive.Liner{alone, paired} {
		km, err := survive.KaplanMeier(liners)
		if err != nil {
			return err
		}
		inc, err := survive.AalenJohansen(liners, []float64{linerAt}, 2)
		if err != nil {
			return err
		}
		s.kept[k] += held(km.At(linerAt).Interval(0.95), free)
		s.kept[2+k] += held(inc[0].Of[0].Interval(0.95), revised)
		if k == 0 && km.Events == 0 {
			s.none++
		}
	}
	if t, err := survive.LogRank(groups[0], groups[1]); err == nil && t.P < 0.05 {
		s.logRank++
	}
	if t, err := survive.Gray(survive.Revised, groups[0], groups[1]); err == nil && t.P < 0.05 {
		s.gray++
	}
	w.beta = 8
	drawn = w.draw(r)
	alone, paired, _ = split(drawn)
	var rate []float64
	for _, d := range drawn {
		rate = append(rate, d.rate)
	}
	a, err1 := survive.Cox(alone, [][]float64{rate})
	b, err2 := survive.Cox(paired, [][]float64{rate})
	if err1 != nil || err2 != nil {
		return nil // no revision, or no bound: there is no interval to be judged
	}
	s.ratios++
	s.kept[4] += held(a.Coef[0].Interval(0.95), w.beta)
	s.kept[5] += held(b.Coef[0].Interval(0.95), w.beta)
	return nil
}

// split tells liners without and with their patients, and by group.
func split(drawn []simulated) (alone, paired []survive.Liner, groups [2][]survive.Liner) {
	for _, d := range drawn {
		paired = append(paired, d.Liner)
		d.Patient = ""
		alone = append(alone, d.Liner)
		groups[d.group] = append(groups[d.group], d.Liner)
	}
	return alone, paired, groups
}

func held(i wearfit.Interval, truth float64) float64 {
	if i.Contains(truth) {
		return 1
	}
	return 0
}
