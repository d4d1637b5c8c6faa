package study

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"linerwatch/wearfit"
)

// CohortRow is one film of a cohort.
type CohortRow struct {
	Hip, Patient, Group string
	Point
}

func digits(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// cohort is the films in the steady state as a design.
type cohort struct {
	data   wearfit.MixedData
	groups []string // sorted; the first is the reference
	group  map[string]int
	early  int // films before the steady state
}

func newCohort(rows []CohortRow, start float64) (cohort, error) {
	c := cohort{group: map[string]int{}}
	patients := false
	for _, r := range rows {
		if !slices.Contains(c.groups, r.Group) {
			c.groups = append(c.groups, r.Group)
		}
		patients = patients || r.Patient != ""
	}
	slices.Sort(c.groups)
	d := &c.data
	d.Names = []string{"intercept", "rate"}
	if len(c.groups) > 1 {
		d.Names[0] += " of " + c.groups[0]
		d.Names[1] += " of " + c.groups[0]
		for _, g := range c.groups[1:] {
			d.Names = append(d.Names, "intercept, "+g+" less "+c.groups[0], "rate, "+g+" less "+c.groups[0])
		}
	}
	d.Fixed = make([][]float64, len(d.Names))
	for _, r := range rows {
		g := slices.Index(c.groups, r.Group)
		if at, ok := c.group[r.Hip]; ok && at != g {
			return cohort{}, fmt.Errorf("hip %s is in groups %s and %s", r.Hip, c.groups[at], r.Group)
		}
		c.group[r.Hip] = g
		if !InSteadyState(r.Years, start) {
			c.early++
			continue
		}
		d.Hip, d.Time, d.Value = append(d.Hip, r.Hip), append(d.Time, r.Years), append(d.Value, r.MM)
		if patients {
			d.Patient = append(d.Patient, r.Patient)
		}
		for j, v := range c.design(g, r.Years) {
			d.Fixed[j] = append(d.Fixed[j], v)
		}
	}
	return c, nil
}

// design is a row of the fixed effects: intercept and rate of the first group,
// and what each other group differs by.
func (c cohort) design(group int, years float64) []float64 {
	row := make([]float64, 2*len(c.groups))
	row[0], row[1] = 1, years
	if group > 0 {
		row[2*group], row[2*group+1] = 1, years
	}
	return row
}

// lineOf is the combination of the fixed effects that is a group's intercept
// or rate.
func (c cohort) lineOf(group int) (intercept, rate []float64) {
	intercept = c.design(group, 0)
	rate = c.design(group, 1)
	for j, v := range intercept {
		rate[j] -= v
	}
	return intercept, rate
}

// Mixed fits the linear mixed model by REML to the films in the steady state:
// intercept and rate by group, a random intercept and rate for each hip, hips
// within patients where patients are named, and each hip's shrunken rate.
func Mixed(rows []CohortRow, start float64) ([]Quantity, error) {
	c, err := newCohort(rows, start)
	if err != nil {
		return nil, err
	}
	m, err := wearfit.FitMixed(c.data, wearfit.MixedOptions{})
	if err != nil {
		return nil, errors.New(trimPackage(err))
	}
	const name = "mixed model, REML"
	var out []Quantity
	for j, n := range m.Names {
		unit := unitMM
		if j%2 == 1 {
			unit = unitRate
		}
		out = append(out, estimated("", name, n, unit, m.Estimate(j)))
	}
	if len(c.groups) > 1 {
		for g, n := range c.groups {
			_, rate := c.lineOf(g)
			out = append(out, estimated(n, name, "rate", unitRate, m.Combine(rate)))
		}
	}
	out = append(out,
		Quantity{Model: name, Name: "SD of intercepts between hips", Unit: unitMM, Value: m.SDIntercept},
		Quantity{Model: name, Name: "SD of rates between hips", Unit: unitRate, Value: m.SDSlope},
		Quantity{Model: name, Name: "correlation of intercept and rate", Value: m.Corr},
		Quantity{Model: name, Name: "residual SD", Unit: unitMM, Value: m.Sigma},
		Quantity{Model: name, Name: "restricted log-likelihood", Value: m.LogLik},
		counted("", name, "hips", m.Hips), counted("", name, "films", m.N),
		counted("", name, "films before the start, not in the model", c.early))
	if c.data.Patient != nil {
		out = append(out, counted("", name, "patients", m.Patients),
			Quantity{Model: name, Name: "SD of intercepts between patients", Unit: unitMM, Value: m.SDPatient})
	}
	if m.Singular {
		out = append(out, Quantity{Model: name, Name: "boundary", Value: 1,
			Note: "a variance is 0 or a correlation 1 or -1: the films do not tell them apart"})
	}
	if !m.Converged {
		return nil, errors.New("the mixed model did not converge")
	}
	for _, e := range m.Effects() {
		intercept, rate := c.lineOf(c.group[e.Hip])
		s := m.Shrink(e, intercept, rate)
		q := estimated(e.Hip, "shrunken, from the mixed model", "rate", unitRate, s.Rate)
		q.HasP = false
		out = append(out, q)
	}
	return out, nil
}

// Groups compares the rates of groups by each hip's own line: the mean rate
// of each, and where there are two, their difference by Welch's t test and the
// Mann-Whitney test.
func Groups(rows []CohortRow, start float64) ([]Quantity, error) {
	c, err := newCohort(rows, start)
	if err != nil {
		return nil, err
	}
	if len(c.groups) != 2 {
		return nil, fmt.Errorf("two groups are needed for a comparison, the table has %d", len(c.groups))
	}
	s, err := wearfit.CompareRates(c.data, func(hip string) bool { return c.group[hip] == 0 })
	if err != nil {
		return nil, errors.New(trimPackage(err))
	}
	const name = "each hip's own line"
	var out []Quantity
	for g, n := range c.groups {
		out = append(out,
			Quantity{Of: n, Model: name, Name: "mean rate", Unit: unitRate, Value: s.Welch.Mean[g]},
			Quantity{Of: n, Model: name, Name: "SD of rates", Unit: unitRate, Value: s.Welch.SD[g]},
			counted(n, name, "hips", s.Welch.N[g]))
	}
	out = append(out,
		estimated("", "Welch t test", "rate, "+c.groups[0]+" less "+c.groups[1], unitRate, s.Welch.Difference),
		Quantity{Model: "Mann-Whitney test", Name: "share of pairs in which " + c.groups[0] + " is higher",
			Value: s.Ranks.Share, P: s.Ranks.P, HasP: true},
		counted("", name, "films before the start, not in the lines", c.early))
	for _, h := range s.Left {
		out = append(out, missing(h, name, "rate", unitRate, errors.New("too few films for a line of its own; not compared")))
	}
	return out, nil
}
