package mixed

import (
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"strconv"
	"sync"

	"linerwatch/wearfit"
)

// Trial is a planned comparison of the rates of two groups, judged by simulation: hips are
// drawn, lost from follow-up, and analysed as real ones would be.
type Trial struct {
	wearfit.Plan
	Hips      [2]int  // of each group
	Rate      float64 // mean rate of the first group; that of the second is higher by Difference
	BeddingSD float64 // of the bedding-in between hips
	Lost      float64 // share of the hips that is lost each year, at random
	Mixed     bool    // analysed by the mixed model, else by Welch's test of each hip's own line
	Runs      int     // simulated studies
	Seed      uint64
}

func (tr Trial) check() error {
	if _, err := tr.RateSD(); err != nil {
		return err
	}
	if !inside(tr.Level) || tr.Runs < 1 || min(tr.Hips[0], tr.Hips[1]) < 2 || !(tr.Lost >= 0 && tr.Lost < 1) ||
		!finite(tr.Rate+tr.Difference+tr.BeddingSD+tr.BetweenSD) || tr.BeddingSD < 0 || tr.BetweenSD < 0 {
		return wearfit.ErrDesign
	}
	return nil
}

// Judge simulates the trial. The same seed gives the same power, on any number of cores.
func (tr Trial) Judge() (wearfit.Judged, error) {
	if err := tr.check(); err != nil {
		return wearfit.Judged{}, err
	}
	found, failed := make([]bool, tr.Runs), make([]bool, tr.Runs)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for run := range next {
				p, err := tr.analyse(tr.draw(rand.New(rand.NewPCG(tr.Seed, uint64(run)))))
				found[run], failed[run] = err == nil && p < 1-tr.Level, err != nil
			}
		})
	}
	for run := range tr.Runs {
		next <- run
	}
	close(next)
	wg.Wait()
	j := wearfit.Judged{Hips: tr.Hips}
	for run := range found {
		if found[run] {
			j.Power += 1 / float64(tr.Runs)
		}
		if failed[run] {
			j.Failed++
		}
	}
	j.SE = math.Sqrt(j.Power * (1 - j.Power) / float64(tr.Runs))
	return j, nil
}

// draw simulates the films of one study; the second group is the column of group.
func (tr Trial) draw(r *rand.Rand) Data {
	d := Data{Fixed: make([][]float64, 4), Names: []string{"intercept", "rate", "group", "rate of group"}}
	for h := range tr.Hips[0] + tr.Hips[1] {
		group := 0.0
		if h >= tr.Hips[0] {
			group = 1
		}
		intercept := tr.BeddingSD * r.NormFloat64()
		rate := tr.Rate + tr.Difference*group + tr.BetweenSD*r.NormFloat64()
		until := math.Inf(1)
		if tr.Lost > 0 {
			until = -r.ExpFloat64() / math.Log1p(-tr.Lost)
		}
		name := strconv.Itoa(h)
		for _, t := range tr.Times {
			y := intercept + rate*t + tr.SD*r.NormFloat64()
			if t > until {
				continue
			}
			d.Hip, d.Time, d.Value = append(d.Hip, name), append(d.Time, t), append(d.Value, y)
			for j, v := range []float64{1, t, group, group * t} {
				d.Fixed[j] = append(d.Fixed[j], v)
			}
		}
	}
	return d
}

// inside says that p is a probability between 0 and 1.
func inside(p float64) bool { return p > 0 && p < 1 }

// errUnsettled says that a simulated study's mixed model did not converge.
var errUnsettled = errors.New("wearfit: the mixed model did not converge")

// analyse returns the probability of the difference of the rates in one study, by the
// method that a real one of as many hips would be judged by.
func (tr Trial) analyse(d Data) (float64, error) {
	if !tr.Mixed {
		w, err := wearfit.CompareMeans(ownRates(d, 0), ownRates(d, 1))
		return w.P, err
	}
	m, err := Fit(d, Options{})
	if err != nil {
		return 1, err
	}
	if !m.Converged {
		return 1, errUnsettled
	}
	if m.Patients >= SmallCohort {
		return m.Estimate(3).P(0), nil
	}
	k, err := NewKenward(m)
	if err != nil {
		return 1, err
	}
	return k.Estimate(3).P(0), nil
}

// ownRates are the slopes of the hips of one group, whose rows follow one another; a hip
// without a line of its own is left out.
func ownRates(d Data, group float64) []float64 {
	var out []float64
	for i := 0; i < len(d.Hip); {
		k := i
		for k < len(d.Hip) && d.Hip[k] == d.Hip[i] {
			k++
		}
		if d.Fixed[2][i] == group {
			if l, err := wearfit.FitLine(d.Time[i:k], d.Value[i:k], nil); err == nil {
				out = append(out, l.Slope)
			}
		}
		i = k
	}
	return out
}

// mostHips is the largest group that Size tries.
const mostHips = 20_000

// Size returns the least number of hips with which the trial has its power, as simulated;
// the second group has ratio times the first one's. tr.Hips is not used.
func (tr Trial) Size(ratio float64) (wearfit.Judged, error) {
	if !(ratio > 0) || !finite(ratio) || !inside(tr.Power) {
		return wearfit.Judged{}, wearfit.ErrDesign
	}
	begin, err := tr.PerGroup()
	if err != nil {
		return wearfit.Judged{}, err
	}
	tried := map[int]wearfit.Judged{}
	enough := func(n int) (bool, error) {
		j, ok := tried[n]
		if !ok {
			at := tr
			at.Hips = [2]int{n, max(2, int(math.Round(float64(n)*ratio)))}
			if j, err = at.Judge(); err != nil {
				return false, err
			}
			tried[n] = j
		}
		return j.Power >= tr.Power, nil
	}
	lo, hi := 1, max(2, begin)
	for {
		ok, err := enough(hi)
		if err != nil {
			return wearfit.Judged{}, err
		}
		if ok {
			break
		}
		if lo, hi = hi, hi*3/2+1; hi > mostHips {
			return wearfit.Judged{}, wearfit.ErrDesign
		}
	}
	for hi-lo > 1 {
		m := (lo + hi) / 2
		ok, err := enough(m)
		if err != nil {
			return wearfit.Judged{}, err
		}
		if ok {
			hi = m
		} else {
			lo = m
		}
	}
	return tried[hi], nil
}
