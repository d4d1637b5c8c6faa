package survive

import (
	"math"

	"linerwatch/wearfit"
)

// Step is the Kaplan-Meier curve from a time on: the share of the liners that are
// not revised.
type Step struct {
	Years                    float64
	AtRisk, Events, Censored int // just before and at Years
	Share
}

// Curve is a Kaplan-Meier estimate.
type Curve struct {
	N, Events, Patients int
	// Clustered says that standard errors count patients, some of whom have two
	// liners.
	Clustered bool
	Steps     []Step // at each time at which a liner leaves
	cohort    *cohort
}

// KaplanMeier estimates the share of liners not revised (Kaplan EL, Meier P. J Am
// Stat Assoc 1958;53:457-481); events other than a revision end the observation.
// Standard errors are Greenwood's; where a patient has more than one liner they are
// those of the infinitesimal jackknife over patients (Lin DY, Wei LJ. J Am Stat
// Assoc 1989;84:1074-1078, for this estimate Ying Z, Wei LJ. J Multivar Anal
// 1994;50:17-29), which needs no such liners to fail independently.
func KaplanMeier(liners []Liner) (Curve, error) {
	c, err := newCohort(liners)
	if err != nil {
		return Curve{}, err
	}
	out := Curve{N: len(c.liners), Patients: c.people, Clustered: c.patient != nil, cohort: c}
	share, left := 1.0, leaving{cohort: c}.begin()
	for _, m := range c.moments {
		s := Step{Years: m.years, AtRisk: out.N - m.first, Events: m.ends[Revised]}
		s.Censored = m.next - m.first - s.Events
		left.pass(m)
		if s.Events == s.AtRisk {
			share = 0
		} else {
			share *= 1 - float64(s.Events)/float64(s.AtRisk)
		}
		out.Events += s.Events
		s.Share = Share{Value: share, SE: share * left.se()}
		if s.edge() != 0 {
			s.SE, s.alone = 0, m.people
		}
		out.Steps = append(out.Steps, s)
	}
	return out, nil
}

// At returns the curve at a time; AtRisk counts the liners still observed then. It
// says nothing of times after the last liner was seen.
func (c Curve) At(years float64) Step {
	risk, people := c.cohort.atRisk(years)
	out := Step{Years: years, AtRisk: risk, Share: Share{Value: 1}}
	for _, s := range c.Steps {
		if s.Years > years {
			break
		}
		out.Share = s.Share
	}
	if out.edge() > 0 {
		out.alone = people
	}
	return out
}

// Quantile returns the time by which a share p of the liners is revised, false
// where the curve does not fall so far.
func (c Curve) Quantile(p float64) (float64, bool) {
	y := c.falls(p, func(s Step) float64 { return s.Value })
	return y, !math.IsInf(y, 1)
}

// QuantileInterval returns the times at which the interval of the curve holds 1-p
// (Brookmeyer R, Crowley J. Biometrics 1982;38:29-41, on the log-log scale); its end
// is infinite where the data do not tell it. It does not begin before the first
// revision.
func (c Curve) QuantileInterval(p, level float64) wearfit.Interval {
	return wearfit.Interval{
		Lo: c.falls(p, func(s Step) float64 { return s.Interval(level).Lo }),
		Hi: c.falls(p, func(s Step) float64 { return s.Interval(level).Hi }),
	}
}

// falls returns the first time from the first revision on at which a height is no
// more than 1-p, rounding aside; +Inf for never.
func (c Curve) falls(p float64, height func(Step) float64) float64 {
	for _, s := range c.Steps {
		if s.Value < 1 && height(s) <= 1-p+1e-12 {
			return s.Years
		}
	}
	return infinite
}

// leaving adds up the relative error of the curve as liners leave, time by time.
//
// A liner's influence on -log of the curve is Σ (its event - its share of the
// hazard) / (at risk - events) over the times at which it is at risk. With b the sum of
// hazard / (at risk - events), a patient's is done - (liners at risk) b, done
// changing only as one of them leaves, so that the sum of squares over patients is
// carried along in three sums.
type leaving struct {
	*cohort
	green        float64 // Greenwood's sum
	b            float64
	done         []float64 // by patient
	risk         []int
	dd, dr, rest float64 // sums of done², done risk, risk²
}

func (l leaving) begin() *leaving {
	if l.patient == nil {
		return &l
	}
	l.done, l.risk = make([]float64, l.people), make([]int, l.people)
	for _, p := range l.patient {
		l.risk[p]++
	}
	for _, r := range l.risk {
		l.rest += float64(r * r)
	}
	return &l
}

func (l *leaving) pass(m moment) {
	n, d := float64(len(l.liners)-m.first), float64(m.ends[Revised])
	stay := n - d
	if stay == 0 { // the curve is at 0: its error is nothing
		return
	}
	l.green += d / (n * stay)
	l.b += d / n / stay
	if l.patient == nil {
		return
	}
	for i := m.first; i < m.next; i++ {
		p := l.patient[i]
		was, r := l.done[p], float64(l.risk[p])
		now := was - l.b
		if l.liners[i].Event == Revised {
			now += 1 / stay
		}
		l.dd += now*now - was*was
		l.dr += now*(r-1) - was*r
		l.rest -= 2*r - 1
		l.done[p] = now
		l.risk[p]--
	}
}

// se is the standard error of the curve over the curve.
func (l *leaving) se() float64 {
	if l.patient == nil {
		return math.Sqrt(l.green)
	}
	v, all := l.dd-2*l.b*l.dr+l.b*l.b*l.rest, l.dd+l.b*l.b*l.rest
	if v <= 1e-13*all { // patients that balance, rounding aside
		return 0
	}
	return math.Sqrt(v)
}
