package wearfit

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// What ended the time under observation of a liner.
const (
	EventNone    = 0 // still in place at the last contact
	EventRevised = 1
	// Higher codes are events that compete: after a death no liner is revised.
)

// ErrEvents says that no liner, or none at all in a group, was observed.
var ErrEvents = errors.New("wearfit: no observations in a group")

// Observed is one liner: how long it was observed and what ended that.
type Observed struct {
	Years float64
	Event int
}

// Step is the Kaplan-Meier curve from a time on.
type Step struct {
	Years                    float64
	AtRisk, Events, Censored int // just before and at Years
	Survival                 float64
	SE                       float64 // Greenwood's
}

// Survivors is a Kaplan-Meier estimate.
type Survivors struct {
	N, Events int
	Steps     []Step // at each time of an event or a censoring
	times     []float64
}

// KaplanMeier estimates the share of liners not revised (Kaplan EL, Meier P. J
// Am Stat Assoc 1958;53:457-481); events other than a revision end the
// observation.
func KaplanMeier(obs []Observed) (Survivors, error) {
	s, err := ordered(obs)
	if err != nil {
		return Survivors{}, err
	}
	c := Survivors{N: len(s)}
	surv, green := 1.0, 0.0
	for i := 0; i < len(s); {
		st := Step{Years: s[i].Years, AtRisk: len(s) - i}
		for ; i < len(s) && s[i].Years == st.Years; i++ {
			c.times = append(c.times, s[i].Years)
			if s[i].Event == EventRevised {
				st.Events++
			} else {
				st.Censored++
			}
		}
		if st.Events > 0 {
			n, d := float64(st.AtRisk), float64(st.Events)
			surv *= 1 - d/n
			if st.Events < st.AtRisk {
				green += d / (n * (n - d))
			}
			c.Events += st.Events
		}
		st.Survival, st.SE = surv, surv*math.Sqrt(green)
		c.Steps = append(c.Steps, st)
	}
	return c, nil
}

// ordered checks and sorts by time.
func ordered(obs []Observed) ([]Observed, error) {
	if len(obs) == 0 {
		return nil, ErrEvents
	}
	for i, o := range obs {
		if !finite(o.Years) {
			return nil, &NonFiniteError{"time", i, o.Years}
		}
		if o.Years < 0 {
			return nil, ErrBeforeSurgery
		}
	}
	s := slices.Clone(obs)
	slices.SortStableFunc(s, func(a, b Observed) int { return cmp.Compare(a.Years, b.Years) })
	return s, nil
}

// At returns the curve at a time; AtRisk counts the liners still observed
// then.
func (c Survivors) At(years float64) Step {
	out := Step{Years: years, Survival: 1}
	for _, s := range c.Steps {
		if s.Years > years {
			break
		}
		out.Survival, out.SE = s.Survival, s.SE
	}
	k, _ := slices.BinarySearch(c.times, years)
	out.AtRisk = c.N - k
	return out
}

// Interval returns the log-log interval, which stays between 0 and 1
// (Kalbfleisch JD, Prentice RL. The Statistical Analysis of Failure Time Data.
// Wiley 1980, page 15). Before the first event it is (1, 1), and at 0, where it
// is not defined, (0, 1).
func (s Step) Interval(level float64) Interval {
	switch {
	case s.Survival >= 1:
		return Interval{1, 1}
	case s.Survival <= 0:
		return Interval{0, 1}
	}
	h := quantile(level, math.Inf(1)) * s.SE / (s.Survival * -math.Log(s.Survival))
	return Interval{math.Pow(s.Survival, math.Exp(h)), math.Pow(s.Survival, math.Exp(-h))}
}

// Quantile returns the time by which a share p of the liners is revised, false
// where the curve does not fall so far.
func (c Survivors) Quantile(p float64) (float64, bool) {
	for _, s := range c.Steps {
		if s.Survival <= 1-p+1e-12 {
			return s.Years, true
		}
	}
	return 0, false
}

// LogRank is the test that groups are revised alike.
type LogRank struct {
	ChiSquare, P       float64
	DF                 int
	Observed, Expected []float64
}

// CompareSurvival runs the log-rank test (Mantel N. Cancer Chemother Rep
// 1966;50:163-170).
func CompareSurvival(groups ...[]Observed) (LogRank, error) {
	if len(groups) < 2 {
		return LogRank{}, ErrEvents
	}
	type row struct {
		Observed
		group int
	}
	var all []row
	for g, obs := range groups {
		s, err := ordered(obs)
		if err != nil {
			return LogRank{}, err
		}
		for _, o := range s {
			all = append(all, row{o, g})
		}
	}
	slices.SortStableFunc(all, func(a, b row) int { return cmp.Compare(a.Years, b.Years) })
	k := len(groups)
	r := LogRank{DF: k - 1, Observed: make([]float64, k), Expected: make([]float64, k)}
	risk := make([]float64, k)
	for g, obs := range groups {
		risk[g] = float64(len(obs))
	}
	v := mat.NewSymDense(k-1, nil)
	for i := 0; i < len(all); {
		n := float64(len(all) - i)
		var d float64
		gone := make([]float64, k)
		for at := all[i].Years; i < len(all) && all[i].Years == at; i++ {
			gone[all[i].group]++
			if all[i].Event == EventRevised {
				d++
				r.Observed[all[i].group]++
			}
		}
		for a := range k {
			r.Expected[a] += d * risk[a] / n
			for b := a; b < k-1 && n > 1; b++ {
				share := -risk[a] * risk[b] / (n * n)
				if a == b {
					share += risk[a] / n
				}
				v.SetSym(a, b, v.At(a, b)+d*(n-d)/(n-1)*share)
			}
		}
		for a := range k {
			risk[a] -= gone[a]
		}
	}
	z := mat.NewVecDense(k-1, nil)
	for a := range k - 1 {
		z.SetVec(a, r.Observed[a]-r.Expected[a])
	}
	var x mat.VecDense
	if err := x.SolveVec(v, z); err != nil {
		return LogRank{}, ErrNoScatter
	}
	r.ChiSquare = mat.Dot(z, &x)
	r.P = distuv.ChiSquared{K: float64(r.DF)}.Survival(r.ChiSquare)
	return r, nil
}

// Incidence is the share of liners for which each event came first, by a time.
type Incidence struct {
	Years  float64
	AtRisk int
	Free   float64   // of any event
	FreeSE float64   // of Free
	Share  []float64 // by event code, from 1
	SE     []float64
}

// CumulativeIncidence returns the Aalen-Johansen estimate at the given times:
// revision and the events that compete with it (Aalen OO, Johansen S. Scand J
// Stat 1978;5:141-150). Standard errors are those of the infinitesimal
// jackknife. The complement of Kaplan-Meier with deaths censored is higher: it
// is the share revised if nobody died.
func CumulativeIncidence(obs []Observed, years []float64) ([]Incidence, error) {
	s, err := ordered(obs)
	if err != nil {
		return nil, err
	}
	kinds := 1
	for i, o := range s {
		if o.Event < 0 {
			return nil, &NonFiniteError{"event", i, float64(o.Event)}
		}
		kinds = max(kinds, o.Event)
	}
	out := make([]Incidence, len(years))
	for i, at := range years {
		out[i] = incidenceAt(s, kinds, at)
	}
	return out, nil
}

// incidenceAt walks the events up to a time, with the derivative of the result
// by the weight of each liner.
func incidenceAt(s []Observed, kinds int, years float64) Incidence {
	n := len(s)
	r := Incidence{Years: years, Free: 1, Share: make([]float64, kinds), SE: make([]float64, kinds)}
	dFree := make([]float64, n)
	dShare := make([][]float64, kinds)
	for k := range dShare {
		dShare[k] = make([]float64, n)
	}
	for _, o := range s {
		if o.Years >= years {
			r.AtRisk++
		}
	}
	for i := 0; i < n && s[i].Years <= years; {
		risk := float64(n - i)
		first := i
		d := make([]float64, kinds)
		var any float64
		for ; i < n && s[i].Years == s[first].Years; i++ {
			if e := s[i].Event; e > 0 {
				d[e-1] += 1 / risk
				any += 1 / risk
			}
		}
		for j := range s {
			var hazard float64
			for k := range kinds {
				var dl float64
				if j >= first {
					dl = -d[k] / risk
					if j < i && s[j].Event == k+1 {
						dl += 1 / risk
					}
				}
				dShare[k][j] += dFree[j]*d[k] + r.Free*dl
				hazard += dl
			}
			dFree[j] = dFree[j]*(1-any) - r.Free*hazard
		}
		for k := range kinds {
			r.Share[k] += r.Free * d[k]
		}
		r.Free *= 1 - any
	}
	r.FreeSE = norm(dFree)
	for k := range kinds {
		r.SE[k] = norm(dShare[k])
	}
	return r
}

func norm(v []float64) float64 {
	var s float64
	for _, x := range v {
		s = math.Hypot(s, x)
	}
	return s
}
