package findings

import (
	"linerwatch/app/study"
	"linerwatch/wearfit"
)

// Cohort is the mixed model of all films in the steady state, and the comparison of groups
// by each hip's own line.
type Cohort struct {
	Mixed    []study.Quantity
	WhyMixed study.Note // there is no model
	Own      []study.Quantity
	WhyOwn   study.Note // groups are not compared by their hips' lines
	Checks   study.ModelChecks
	Starts   []float64 // years at which the steady state of hips begins, each once
}

// cohort fits the model from the steady state's start that most hips have.
func cohort(hips []Hip, groups []string, checks bool) Cohort {
	var c Cohort
	var rows []study.CohortRow
	counts := map[float64]int{}
	var start float64
	for _, h := range hips {
		for _, f := range h.Films {
			rows = append(rows, study.CohortRow{Hip: h.ID, Patient: h.Patient, Group: h.In, Point: f.Point})
		}
		if counts[h.Start()]++; counts[h.Start()] == 1 {
			c.Starts = append(c.Starts, h.Start())
		}
		if n := counts[h.Start()]; n > counts[start] || n == counts[start] && h.Start() < start {
			start = h.Start()
		}
	}
	o := study.CohortOptions{Start: start}
	if len(rows) == 0 {
		c.WhyMixed, c.WhyOwn = said("findings.no-film"), said("findings.no-film")
		return c
	}
	var err error
	if c.Mixed, err = study.Mixed(rows, o); err != nil {
		c.WhyMixed = study.NoteOf(err)
	}
	if c.Own, err = study.Groups(rows, o); err != nil {
		c.WhyOwn = study.NoteOf(err)
	}
	if checks && c.WhyMixed.IsZero() {
		if c.Checks, err = study.CheckMixed(rows, o); err != nil {
			c.Checks = study.ModelChecks{}
		}
	}
	return c
}

// Rate returns the mean steady-state rate of a group by the mixed model, of all hips where
// there are no groups.
func (c Cohort) Rate(group string, groups []string) (study.Quantity, bool) {
	name := ""
	if len(groups) > 1 {
		name = group
	}
	for _, q := range c.Mixed {
		if q.Name == "rate" && q.Of == name && q.Exists() {
			return q, true
		}
	}
	return study.Quantity{}, false
}

// MarkRate is the rate of a marker from the literature, mm/year: below it osteolysis is
// rare (Dumbleton JH, Manley MT, Edidin AA. J Arthroplasty 2002;17:649-661).
const MarkRate = 0.1

// Above counts the hips of a group whose steady-state rate is above MarkRate.
type Above struct {
	Group    string
	N, Hips  int              // above, of all with a rate
	Share    wearfit.Interval // of N of Hips, exact
	Sure     int              // hips whose whole interval is above
	Interval int              // hips that have an interval
}

// above counts by each hip's own line.
func above(hips []Hip, groups []string) []Above {
	var out []Above
	for _, g := range groups {
		a := Above{Group: g}
		for _, h := range hips {
			if h.In != g || h.Fit == nil {
				continue
			}
			a.Hips++
			if h.Fit.Rate > MarkRate {
				a.N++
			}
			if h.Fit.HasInterval {
				a.Interval++
				if h.Fit.Lo95 > MarkRate {
					a.Sure++
				}
			}
		}
		a.Share = wearfit.Proportion(a.N, a.Hips, 0.95)
		out = append(out, a)
	}
	return out
}
