package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"time"

	"linerwatch/wearfit"
	"linerwatch/wearfit/settle"
)

// visits are the years that a hip's films are drawn from; the first is always
// taken, and each is up to a tenth early or late.
var visits = []float64{0, 0.12, 0.25, 0.5, 1, 2, 3, 5, 7, 10}

// people is a population of hips: means and standard deviations between hips.
type people struct {
	hips, films                  int
	tau                          float64
	unequal                      bool // readings whose known errors differ, beside the scatter
	creep, sdCreep, rate, sdRate float64
	corr, sdTau, scatter         float64
	seLeast, seMost, seScatter   float64
}

func usual(hips, films int, tau float64, unequal bool) people {
	return people{hips: hips, films: films, tau: tau, unequal: unequal, creep: 0.15, sdCreep: 0.06, rate: 0.06, sdRate: 0.03,
		corr: 0.3, sdTau: 0.3, scatter: 0.05, seLeast: 0.02, seMost: 0.1, seScatter: 0.02}
}

// one is the truth of a hip.
type one struct{ creep, rate, tau float64 }

func (o one) at(t float64) float64 { return -o.creep*math.Expm1(-t/o.tau) + o.rate*t }

// draw simulates a cohort.
func (p people) draw(r *rand.Rand) (settle.Data, []one) {
	var d settle.Data
	truth := make([]one, p.hips)
	for h := range truth {
		a, b := r.NormFloat64(), r.NormFloat64()
		truth[h] = one{p.creep + p.sdCreep*a, p.rate + p.sdRate*(p.corr*a+math.Sqrt(1-p.corr*p.corr)*b), p.tau * math.Exp(p.sdTau*r.NormFloat64())}
		level := r.NormFloat64()
		for _, k := range append([]int{-1}, r.Perm(len(visits) - 1)[:p.films-1]...) {
			t := visits[k+1] * (0.9 + 0.2*r.Float64())
			sd := p.scatter
			if p.unequal {
				se := p.seLeast * math.Pow(p.seMost/p.seLeast, r.Float64())
				d.SE = append(d.SE, se)
				sd = math.Hypot(se, p.seScatter)
			}
			d.Hip, d.Time = append(d.Hip, fmt.Sprint(h)), append(d.Time, t)
			d.Value = append(d.Value, level+truth[h].at(t)+sd*r.NormFloat64())
		}
	}
	return d, truth
}

// kept is how many intervals held the truth, of how many.
type kept struct{ in, of int }

func (h *kept) count(i wearfit.Interval, truth float64) {
	h.of++
	if i.Contains(truth) {
		h.in++
	}
}

func (h kept) percent() float64 { return 100 * float64(h.in) / float64(h.of) }

// settlingLines take few and many films, bedding-in that is soon over and that
// lasts, and readings of one error and of known different ones, in turn.
var settlingLines = []struct {
	films   int
	tau     float64
	unequal bool
}{
	{3, 0.25, false}, {3, 1, true}, {4, 0.5, false}, {4, 2, true},
	{6, 0.25, true}, {6, 1, false}, {10, 0.5, true}, {10, 2, false},
}

// settling writes how often the intervals of the model of all films hold.
func settling(w io.Writer, runs int, seed uint64, only, line int) (bool, error) {
	if _, err := fmt.Fprintf(w, "all films of a cohort, 95 %% intervals, some %d hips a line, at most %d of a cohort; means by draws (by standard error)\n hips films  tau  errors    rate %%  bedding-in %%  at 5 years %%    mean rate %%  mean bedding-in %%  not told %%  failed\n", runs, countedHips); err != nil {
		return false, err
	}
	all := true
	for _, hips := range []int{5, 20, 100, 1000} {
		if only > 0 && hips != only {
			continue
		}
		for i, l := range settlingLines {
			if line > 0 && i+1 != line {
				continue
			}
			ok, err := settlingLine(w, usual(hips, l.films, l.tau, l.unequal), runs, seed)
			if err != nil {
				return false, err
			}
			all = all && ok
		}
	}
	return all, nil
}

// countedHips is how many hips are counted of a cohort: they share its errors, so
// that more cohorts tell more than more hips.
const countedHips = 20

func settlingLine(w io.Writer, p people, runs int, seed uint64) (bool, error) {
	r := rand.New(rand.NewPCG(seed, uint64(p.hips*100+p.films)))
	var h [7]kept
	var told, failed, n int
	for range max(1, runs/min(p.hips, countedHips)) {
		d, truth := p.draw(r)
		n++
		c, err := settle.Fit(d, settle.Options{})
		var few *wearfit.TooFewError
		if errors.Is(err, settle.ErrSearch) || errors.As(err, &few) {
			failed++
			continue
		}
		if err != nil {
			return false, err
		}
		b, err := c.Believe(1)
		if err != nil {
			failed++
			continue
		}
		if c.High {
			told++
		}
		h[3].count(b.Fixed(1, 0.95).Interval, p.rate)
		h[4].count(b.Fixed(0, 0.95).Interval, p.creep)
		h[5].count(c.Estimate(1).Interval(0.95), p.rate)
		h[6].count(c.Estimate(0).Interval(0.95), p.creep)
		for i := 0; i < p.hips; i += max(1, p.hips/countedHips) {
			course, _ := b.Hip(fmt.Sprint(i))
			h[0].count(course.Rate(0.95).Interval, truth[i].rate)
			h[1].count(course.Creep(0.95).Interval, truth[i].creep)
			h[2].count(course.Penetration(5, 0.95).Interval, truth[i].at(5))
		}
	}
	ok, verdict := true, ""
	for _, x := range h[:3] {
		if q := x.percent(); q < 93 || q > 97 {
			ok, verdict = false, "  outside 93-97"
		}
	}
	errorsAre := "equal"
	if p.unequal {
		errorsAre = "unequal"
	}
	_, err := fmt.Fprintf(w, "%5d %5d  %4.2f  %-7s  %7.2f  %12.2f  %12.2f  %5.1f (%5.1f)  %9.1f (%5.1f)  %10.1f  %6d%s\n", p.hips, p.films, p.tau, errorsAre,
		h[0].percent(), h[1].percent(), h[2].percent(), h[3].percent(), h[5].percent(), h[4].percent(), h[6].percent(), 100-100*float64(told)/float64(n), failed, verdict)
	return ok, err
}

// settlingSingle fits one cohort and writes its films, for another program to fit.
func settlingSingle(w io.Writer, hips int, seed uint64, out string) error {
	d, _ := usual(hips, 8, 0.5, false).draw(rand.New(rand.NewPCG(seed, 9)))
	start := time.Now()
	c, err := settle.Fit(d, settle.Options{})
	if err != nil {
		return err
	}
	creep, rate := c.Estimate(0), c.Estimate(1)
	if _, err := fmt.Fprintf(w, "settle: %d hips, %.2f s, bedding-in %.5f (se %.5f), rate %.5f (se %.5f), ln tau %.4f (se %.4f); SD bedding-in %.5f, rate %.5f, ln tau %.4f, films %.5f\n",
		hips, time.Since(start).Seconds(), creep.Value, creep.SE, rate.Value, rate.SE, math.Log(c.Tau), c.SELogTau, c.SDCreep, c.SDRate, c.SDLogTau, c.Sigma); err != nil || out == "" {
		return err
	}
	var b strings.Builder
	b.WriteString("hip,years,offset\n")
	for i := range d.Hip {
		fmt.Fprintf(&b, "%s,%.17g,%.17g\n", d.Hip[i], d.Time[i], d.Value[i])
	}
	return os.WriteFile(out, []byte(b.String()), 0o600)
}
