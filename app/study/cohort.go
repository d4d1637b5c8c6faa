package study

import (
	"errors"
	"fmt"
	"slices"
	"strconv"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed" // a linear mixed model; the name mixed is taken here
)

// CohortRow is one film of a cohort.
type CohortRow struct {
	Hip, Patient, Group string
	Covariates          []float64 // of the hip, in the order of CohortOptions.Covariates
	Point
}

// CohortOptions choose the analysis of a cohort. The zero value is the mixed model
// by REML with a correlated intercept and rate, from the default start of the
// steady state on.
type CohortOptions struct {
	Start        float64 // years; 0 stands for the default
	ML           bool    // maximum likelihood instead of REML
	Uncorrelated bool    // intercept and rate vary independently between hips
	Covariates   []string
}

func digits(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// cohort is the films in the steady state as a design.
type cohort struct {
	data   lmm.Data
	groups []string // sorted; the first is the reference
	hips   map[string]hipOf
	means  []float64 // of the covariates over the films
	early  int       // films before the steady state
}

// hipOf is what does not change from film to film of a hip.
type hipOf struct {
	group      int
	covariates []float64
}

func newCohort(rows []CohortRow, o CohortOptions) (cohort, error) {
	c := cohort{hips: map[string]hipOf{}, means: make([]float64, len(o.Covariates))}
	start := Hip{StartYears: o.Start}.Start()
	patients := false
	var late []CohortRow
	for _, r := range rows {
		if !slices.Contains(c.groups, r.Group) {
			c.groups = append(c.groups, r.Group)
		}
		patients = patients || r.Patient != ""
		if InSteadyState(r.Years, start) {
			late = append(late, r)
		}
	}
	slices.Sort(c.groups)
	c.early = len(rows) - len(late)
	for _, r := range rows {
		if err := c.know(r, o.Covariates); err != nil {
			return cohort{}, err
		}
	}
	for _, r := range late {
		for j, v := range r.Covariates {
			c.means[j] += v / float64(len(late))
		}
	}
	c.data.Names = c.names(o.Covariates)
	c.fill(late, patients)
	return c, nil
}

// know keeps group and covariates of a hip, which are the same on all its films.
func (c *cohort) know(r CohortRow, names []string) error {
	h := hipOf{slices.Index(c.groups, r.Group), r.Covariates}
	had, ok := c.hips[r.Hip]
	if !ok {
		c.hips[r.Hip] = h
		return nil
	}
	if had.group != h.group {
		return NewError("cohort.two-groups", texts.Values{"Hip": r.Hip, "First": c.groups[had.group], "Second": r.Group})
	}
	for j, v := range h.covariates {
		if had.covariates[j] != v {
			return NewError("cohort.two-values", texts.Values{"Hip": r.Hip, "Of": names[j], "First": had.covariates[j], "Second": v})
		}
	}
	return nil
}

func (c *cohort) names(covariates []string) []string {
	names := []string{"intercept", "rate"}
	if len(c.groups) > 1 {
		names[0] += " of " + c.groups[0]
		names[1] += " of " + c.groups[0]
		for _, g := range c.groups[1:] {
			names = append(names, "intercept, "+g+" less "+c.groups[0], "rate, "+g+" less "+c.groups[0])
		}
	}
	for j, n := range covariates {
		names = append(names, fmt.Sprintf("effect of %s, about its mean %.4g", n, c.means[j]))
	}
	return names
}

func (c *cohort) fill(rows []CohortRow, patients bool) {
	d := &c.data
	d.Fixed = make([][]float64, 2*len(c.groups)+len(c.means))
	for _, r := range rows {
		d.Hip, d.Time, d.Value = append(d.Hip, r.Hip), append(d.Time, r.Years), append(d.Value, r.MM)
		if patients {
			d.Patient = append(d.Patient, r.Patient)
		}
		for j, v := range c.design(c.hips[r.Hip], r.Years) {
			d.Fixed[j] = append(d.Fixed[j], v)
		}
	}
}

// design is a row of the fixed effects: intercept and rate of the first group,
// what each other group differs by, and the covariates about their means.
func (c cohort) design(h hipOf, years float64) []float64 {
	row := make([]float64, 2*len(c.groups)+len(c.means))
	row[0], row[1] = 1, years
	if h.group > 0 {
		row[2*h.group], row[2*h.group+1] = 1, years
	}
	for j, v := range h.covariates {
		row[2*len(c.groups)+j] = v - c.means[j]
	}
	return row
}

// lineOf is the combination of the fixed effects that is a hip's intercept or
// rate.
func (c cohort) lineOf(h hipOf) (intercept, rate []float64) {
	intercept = c.design(h, 0)
	rate = c.design(h, 1)
	for j, v := range intercept {
		rate[j] -= v
	}
	return intercept, rate
}

// Mixed fits the linear mixed model to the films in the steady state: intercept
// and rate by group, covariates, a random intercept and rate for each hip, hips
// within patients where patients are named; likelihood-ratio tests; and each hip's
// shrunken intercept and rate.
func Mixed(rows []CohortRow, o CohortOptions) ([]Quantity, error) {
	c, err := newCohort(rows, o)
	if err != nil {
		return nil, err
	}
	how := lmm.Options{ML: o.ML}
	name, likelihood := "mixed model, REML", "restricted log-likelihood"
	if o.ML {
		name, likelihood = "mixed model, ML", "log-likelihood"
	}
	if o.Uncorrelated {
		how.Random = lmm.Uncorrelated
	}
	m, err := c.fit(how, len(c.data.Fixed))
	if err != nil {
		return nil, err
	}
	out := c.fixed(m, name)
	out = append(out,
		Quantity{Model: name, Name: "SD of intercepts between hips", Unit: unitMM, Value: m.SDIntercept},
		Quantity{Model: name, Name: "SD of rates between hips", Unit: unitRate, Value: m.SDSlope},
		Quantity{Model: name, Name: "correlation of intercept and rate", Value: m.Corr},
		Quantity{Model: name, Name: "residual SD", Unit: unitMM, Value: m.Sigma},
		Quantity{Model: name, Name: likelihood, Value: m.LogLik},
		Quantity{Model: name, Name: "AIC", Value: m.AIC()},
		counted("", name, "hips", m.Hips), counted("", name, "films", m.N),
		counted("", name, "films before the start, not in the model", c.early))
	if c.data.Patient != nil {
		out = append(out, counted("", name, "patients", m.Patients),
			Quantity{Model: name, Name: "SD of intercepts between patients", Unit: unitMM, Value: m.SDPatient})
	}
	if m.Singular {
		out = append(out, Quantity{Model: name, Name: "boundary", Value: 1,
			Note: Note{Code: "cohort.boundary"}})
	}
	out = append(out, c.ratios(m)...)
	return append(out, c.shrunken(m)...), nil
}

// fit fits the model with the first columns of the fixed effects.
func (c cohort) fit(o lmm.Options, columns int) (lmm.Model, error) {
	d := c.data
	d.Fixed, d.Names = d.Fixed[:columns:columns], d.Names[:columns:columns]
	m, err := lmm.Fit(d, o)
	switch {
	case errors.Is(err, wearfit.ErrRank) && slices.Min(d.Time) == slices.Max(d.Time):
		return m, wearfit.ErrEqualTimes
	case errors.Is(err, wearfit.ErrRank):
		return m, NewError("cohort.rank", nil)
	case err != nil:
		return m, err
	case !m.Converged:
		return m, NewError("cohort.unsettled", nil)
	}
	return m, nil
}

// fixed are the fixed effects, and the rate of each group.
func (c cohort) fixed(m lmm.Model, name string) []Quantity {
	var out []Quantity
	for j, n := range m.Names {
		unit := unitMM
		switch {
		case j >= 2*len(c.groups):
			unit = "mm per unit"
		case j%2 == 1:
			unit = unitRate
		}
		out = append(out, estimated("", name, n, unit, m.Estimate(j)))
	}
	if len(c.groups) > 1 {
		for g, n := range c.groups {
			h := hipOf{group: g}
			_, rate := c.lineOf(h)
			out = append(out, estimated(n, name, "rate", unitRate, m.Combine(rate)))
		}
	}
	return out
}

// ratios are the likelihood-ratio tests: of what differs between groups by ML,
// since models of different fixed effects have no restricted likelihoods to
// compare, of rates that change with time, which tells whether the start of the
// steady state was well chosen, and of rates that vary between hips.
func (c cohort) ratios(m lmm.Model) []Quantity {
	const name = "likelihood-ratio test"
	var out []Quantity
	test := func(what string, larger, smaller lmm.Model, mixture bool, note string) {
		r, err := lmm.LikelihoodRatio(larger, smaller)
		if err != nil {
			out = append(out, missing("", name, what, "", err))
			return
		}
		q := Quantity{Model: name, Name: what, Value: r.Statistic, DF: float64(r.DF), P: r.P, HasP: true, Note: Note{Code: note}}
		if mixture {
			q.P = r.Mixture
		}
		out = append(out, q)
	}
	how := lmm.Options{ML: true, Random: m.Options.Random}
	full, err := c.fit(how, len(c.data.Fixed))
	if err != nil {
		return []Quantity{missing("", name, "models by ML", "", err)}
	}
	if bent, err := c.bent().fit(how, len(c.data.Fixed)+1); err != nil {
		out = append(out, missing("", name, "rates change with time", "", err))
	} else {
		test("rates change with time", bent, full, false, "cohort.square")
	}
	if len(c.groups) > 1 {
		alike, err2 := c.alike(false).fit(how, len(c.data.Fixed)-len(c.groups)+1)
		one, err3 := c.alike(true).fit(how, len(c.data.Fixed)-2*len(c.groups)+2)
		if err := errors.Join(err2, err3); err != nil {
			return append(out, missing("", name, "groups", "", err))
		}
		test("rates differ between groups", full, alike, false, "cohort.chi-square")
		test("groups differ at all", full, one, false, "cohort.chi-square")
	}
	fixed, err := c.fit(lmm.Options{ML: m.Options.ML, Random: lmm.InterceptOnly}, len(c.data.Fixed))
	if err != nil {
		return append(out, missing("", name, "rates vary between hips", "", err))
	}
	test("rates vary between hips", m, fixed, true, "cohort.mixture")
	return out
}

// bent is the cohort with the square of time, about its mean, as a further column.
func (c cohort) bent() cohort {
	d := &c.data
	var mean float64
	for _, t := range d.Time {
		mean += t / float64(len(d.Time))
	}
	square := make([]float64, len(d.Time))
	for i, t := range d.Time {
		square[i] = (t - mean) * (t - mean)
	}
	d.Fixed = append(d.Fixed[:len(d.Fixed):len(d.Fixed)], square)
	d.Names = append(d.Names[:len(d.Names):len(d.Names)], "square of time")
	return c
}

// alike is the cohort without the differences of rates between groups, or without
// those of intercepts too.
func (c cohort) alike(intercepts bool) cohort {
	n := 2 * len(c.groups)
	var cols [][]float64
	var names []string
	for j, col := range c.data.Fixed {
		if j >= 2 && j < n && (intercepts || j%2 == 1) {
			continue
		}
		cols, names = append(cols, col), append(names, c.data.Names[j])
	}
	c.data.Fixed, c.data.Names = cols, names
	return c
}

// shrunken are each hip's own intercept and rate, drawn towards its group's.
func (c cohort) shrunken(m lmm.Model) []Quantity {
	var out []Quantity
	for _, e := range m.Effects() {
		intercept, rate := c.lineOf(c.hips[e.Hip])
		s := m.Shrink(e, intercept, rate)
		for _, q := range []Quantity{
			estimated(e.Hip, "shrunken, from the mixed model", "rate", unitRate, s.Rate),
			estimated(e.Hip, "shrunken, from the mixed model", "intercept", unitMM, s.Intercept),
		} {
			q.HasP = false
			out = append(out, q)
		}
	}
	return out
}

// Groups compares the rates of groups by each hip's own line: the mean rate
// of each, and where there are two, their difference by Welch's t test and the
// Mann-Whitney test.
func Groups(rows []CohortRow, o CohortOptions) ([]Quantity, error) {
	c, err := newCohort(rows, o)
	if err != nil {
		return nil, err
	}
	if len(c.groups) != 2 {
		return nil, NewError("cohort.groups", texts.Values{"N": float64(len(c.groups))})
	}
	s, err := lmm.CompareRates(c.data, func(hip string) bool { return c.hips[hip].group == 0 })
	if err != nil {
		return nil, err
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
		out = append(out, missing(h, name, "rate", unitRate, NewError("cohort.few-films", nil)))
	}
	return out, nil
}
