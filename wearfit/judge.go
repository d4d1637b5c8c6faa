package wearfit

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Judged is the power of a plan as simulated.
type Judged struct {
	Hips   [2]int
	Power  float64 // share of the studies that find the difference at the level
	SE     float64 // of Power, from the number of runs
	Failed int     // studies that could not be analysed, which found nothing
}

// JudgeHip returns the share of simulated hips of a true rate whose line, as FitSteady fits
// it, tells the rate from zero: what MinimumRate promises.
func (p Plan) JudgeHip(rate float64, runs int, seed uint64) (Judged, error) {
	if _, err := p.RateSD(); err != nil {
		return Judged{}, err
	}
	if !inside(p.Level) || runs < 1 || !finite(rate) {
		return Judged{}, ErrDesign
	}
	r := rand.New(rand.NewPCG(seed, 1))
	se := slices.Repeat([]float64{p.SD}, len(p.Times))
	y := make([]float64, len(p.Times))
	j := Judged{Hips: [2]int{1, 0}}
	for range runs {
		for i, t := range p.Times {
			y[i] = rate*t + p.SD*r.NormFloat64()
		}
		f, err := FitSteady(p.Times, y, se, Baseline{}, 0)
		if err != nil {
			return Judged{}, err
		}
		if !f.RateInterval(p.Level).Contains(0) {
			j.Power += 1 / float64(runs)
		}
	}
	j.SE = math.Sqrt(j.Power * (1 - j.Power) / float64(runs))
	return j, nil
}
