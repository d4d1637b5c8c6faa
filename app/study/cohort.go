package study

import (
	"errors"
	"slices"
	"strconv"

	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed" // a linear mixed model; the name mixed is taken here
)

// CohortRow is one film of a cohort.
type CohortRow struct {
	Hip, Patient, Group string
	Covariates          []float64 // of the hip, in the order of CohortOptions.Covariates
	Categories          []string  // of the hip, in the order of CohortOptions.Categories
	Class               string    // what the residual variance goes by, such as the reader; empty: one for all
	Film                string    // within the hip, where films were read more than once; else empty
	Point
}

// CohortOptions choose the analysis of a cohort. The zero value is the mixed model
// by REML with a correlated intercept and rate, from the default start of the
// steady state on.
type CohortOptions struct {
	Start        float64 // years; 0 stands for the default
	ML           bool    // maximum likelihood instead of REML
	Uncorrelated bool    // intercept and rate vary independently between hips
	PatientRate  bool    // the rate varies between patients too
	Robust       bool    // beside it the model that hips that stand apart pull less
	Diagnostics  bool    // values for plots of films and hips
	Covariates   []string
	Categories   []string  // covariates that are words
	OnRate       []string  // those of both that act on the rate too
	OnTau        []string  // of Settle: those of both that act on the time constant too
	GroupTau     bool      // of Settle: groups differ in it
	AtYears      []float64 // times, above 0, at which Settle tells each hip's penetration
}

func digits(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// Mixed fits the linear mixed model to the films in the steady state: intercept
// and rate by group, covariates, a random intercept and rate for each hip, hips
// within patients where patients are named, errors of readings where they are known;
// tests; and each hip's shrunken intercept and rate.
func Mixed(rows []CohortRow, o CohortOptions) ([]Quantity, error) {
	c, err := newCohort(rows, o)
	if err != nil {
		return nil, err
	}
	a := analysis{cohort: c, name: "mixed model, REML", how: lmm.Options{ML: o.ML, PatientSlope: o.PatientRate}}
	if o.ML {
		a.name = "mixed model, ML"
	}
	if o.Uncorrelated {
		a.how.Random = lmm.Uncorrelated
	}
	if a.model, err = c.fit(a.how); err != nil {
		return nil, err
	}
	if a.small = a.model.Patients < lmm.SmallCohort; a.small && !o.ML {
		// Without them Satterthwaite's degrees of freedom are given, and said to be.
		a.kenward, _ = lmm.NewKenward(a.model)
	}
	out := append(a.fixed(), a.variances()...)
	out = append(out, a.agreement()...)
	out = append(out, a.tests()...)
	if o.Robust {
		out = append(out, a.robust()...)
	}
	out = append(out, a.shrunken()...)
	if o.Diagnostics {
		out = append(out, a.diagnostics()...)
	}
	return out, nil
}

// analysis is a model of a cohort and what its quantities are called by.
type analysis struct {
	cohort
	name    string
	how     lmm.Options
	model   lmm.Model
	kenward *lmm.Kenward // nil with many hips, or by ML
	small   bool
}

// fit fits the model.
func (c cohort) fit(o lmm.Options) (lmm.Model, error) {
	m, err := lmm.Fit(c.data, o)
	switch {
	case errors.Is(err, wearfit.ErrRank) && slices.Min(c.data.Time) == slices.Max(c.data.Time):
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

// estimate is a combination of the fixed effects, by the method that suits the number
// of hips.
func (a analysis) estimate(of, name, unit string, c []float64) Quantity {
	if a.kenward != nil {
		return estimated(of, a.name, name, unit, a.kenward.Combine(c)).made(ByKenwardRoger)
	}
	return estimated(of, a.name, name, unit, a.model.Combine(c)).made(BySatterthwaite)
}

// fixed are the fixed effects, and the rate of each group.
func (a analysis) fixed() []Quantity {
	var out []Quantity
	for j, col := range a.columns {
		c := make([]float64, len(a.columns))
		c[j] = 1
		out = append(out, a.estimate("", col.name, col.unit, c))
	}
	if len(a.groups) > 1 {
		for g, n := range a.groups {
			_, rate := a.lineOf(hipOf{group: g, covariates: a.means})
			out = append(out, a.estimate(n, "rate", unitRate, rate))
		}
	}
	return out
}

// variances are what is not fixed, and what the model rests on.
func (a analysis) variances() []Quantity {
	m := a.model
	likelihood, criterion := "restricted log-likelihood", ByREML
	if a.how.ML {
		likelihood, criterion = "log-likelihood", ByML
	}
	number := func(name, unit string, v float64) Quantity {
		return Quantity{Model: a.name, Name: name, Unit: unit, Value: v, By: criterion}
	}
	out := []Quantity{
		number("SD of intercepts between hips"+a.withoutBase(), unitMM, m.SDIntercept),
		number("SD of rates between hips", unitRate, m.SDSlope),
		number("correlation of intercept and rate", "", m.Corr),
	}
	beyond := ""
	if a.data.SE != nil {
		beyond = ", beyond the readings' stated errors"
	}
	if len(m.Classes) == 0 {
		out = append(out, number("residual SD"+beyond, unitMM, m.Sigma))
	}
	for _, c := range m.Classes {
		q := number("residual SD"+beyond, unitMM, c.SD)
		q.Of = c.Class
		out = append(out, q)
	}
	if a.data.Film != nil {
		out = append(out, number("SD of films, beyond the hip's line", unitMM, m.SDFilm))
	}
	out = append(out, number(likelihood, "", m.LogLik), number("AIC", "", m.AIC()),
		counted("", a.name, "hips", m.Hips), counted("", a.name, "films", m.N),
		counted("", a.name, "films before the start, not in the model", a.early))
	if a.data.Patient != nil {
		out = append(out, counted("", a.name, "patients", m.Patients), number("SD of intercepts between patients", unitMM, m.SDPatient))
		if a.how.PatientSlope {
			out = append(out, number("SD of rates between patients", unitRate, m.SDPatientSlope))
		}
	}
	if a.unknown > 0 {
		out = append(out, counted("", a.name, "films whose error is not stated: taken for the others' root mean square", a.unknown))
	}
	if m.Singular {
		out = append(out, Quantity{Model: a.name, Name: "boundary", Value: 1,
			Note: Note{Code: "cohort.boundary"}})
	}
	return out
}

// withoutBase says what an intercept does not hold; "" of nothing.
func (a analysis) withoutBase() string {
	if n := a.baseNote(); n.Code != "cohort.with-base" {
		return ", " + NoteWords(n)
	}
	return ""
}

// baseNote says whether intercepts hold the error of the baseline film.
func (a analysis) baseNote() Note {
	switch {
	case a.data.BaseSE == nil:
		return Note{Code: "cohort.with-base"}
	case a.baseless:
		return Note{Code: "cohort.without-base-where"}
	}
	return Note{Code: "cohort.without-base"}
}
