package study

import (
	"errors"
	"slices"

	lmm "linerwatch/wearfit/mixed"
)

// fewHips is the number of patients below which the p of a likelihood-ratio test comes
// from drawn cohorts. With 10 hips in two groups that are alike chi-square finds a
// difference at 5 % in 8 %, with 20 in 7 % (go run ./wearfit/bench -tests).
const fewHips = 30

// drawnCohorts is how many are drawn: p then has a standard error of 0.01 at 0.05.
const drawnCohorts = 499

// tests are whether rates change with time, which tells whether the start of the steady
// state was well chosen, what differs between groups and by category, and whether rates
// vary between hips. Likelihood ratios are by ML where fixed effects differ, since models
// of different fixed effects have no restricted likelihoods to compare.
func (a analysis) tests() []Quantity {
	byML := a.how
	byML.ML = true
	full, err := a.fit(byML)
	if err != nil {
		return []Quantity{missing("", ratioTest, "models by ML", "", err)}
	}
	bent, err := a.bent().fit(byML)
	out := a.ratio("rates change with time", bent, full, err, "cohort.square")
	if len(a.groups) > 1 {
		out = append(out, a.joint("rates differ between groups", full, byML, func(c column) bool { return c.group && c.onRate })...)
		out = append(out, a.joint("groups differ at all", full, byML, func(c column) bool { return c.group })...)
	}
	for j, levels := range a.levels {
		if len(levels) < 2 {
			continue
		}
		name := a.options.Categories[j]
		of := func(c column) bool { return c.category == j+1 }
		out = append(out, a.joint(name+" tells at all", full, byML, of)...)
		if slices.Contains(a.options.OnRate, name) {
			out = append(out, a.joint("rates differ by "+name, full, byML, func(c column) bool { return of(c) && c.onRate })...)
		}
	}
	alike := a.how
	alike.Random, alike.PatientSlope = lmm.InterceptOnly, false
	fixed, err := a.fit(alike)
	return append(out, a.ratio("rates vary between hips", a.model, fixed, err, "")...)
}

const (
	ratioTest   = "likelihood-ratio test"
	kenwardTest = "Kenward-Roger F test"
)

// joint tests all columns that is says so of at once.
func (a analysis) joint(what string, full lmm.Model, how lmm.Options, is func(c column) bool) []Quantity {
	smaller, err := a.without(is).fit(how)
	out := a.ratio(what, full, smaller, err, "cohort.by-ml")
	if a.kenward == nil {
		return out
	}
	var combinations [][]float64
	for j, col := range a.columns {
		if is(col) {
			c := make([]float64, len(a.columns))
			c[j] = 1
			combinations = append(combinations, c)
		}
	}
	f, err := a.kenward.Test(combinations)
	if err != nil {
		return append(out, missing("", kenwardTest, what, "", err))
	}
	return append(out, Quantity{Model: kenwardTest, Name: what, Value: f.F, DF: f.DF2, P: f.P, HasP: true,
		Note: Note{Code: "cohort.df", Values: Values{"First": f.DF1, "Second": f.DF2}}}.made(ByKenwardRoger))
}

// ratio is a likelihood-ratio test, by drawn cohorts where hips are few. A model that
// lacks the rates' variance lies at the limit of the other's.
func (a analysis) ratio(what string, larger, smaller lmm.Model, err error, note string) []Quantity {
	r, err2 := lmm.LikelihoodRatio(larger, smaller)
	if err := errors.Join(err, err2); err != nil {
		return []Quantity{missing("", ratioTest, what, "", err)}
	}
	q := Quantity{Model: ratioTest, Name: what, Value: r.Statistic, DF: float64(r.DF), P: r.P, HasP: true}.made(ByRatioTest)
	if note != "" {
		q.Note = Note{Code: note}
	}
	if len(larger.Coef) == len(smaller.Coef) {
		q.P = r.Mixture
		q = q.made(ByMixture)
	}
	if a.model.Patients >= fewHips {
		return []Quantity{q}
	}
	b, err := lmm.BootstrapRatio(larger, smaller, drawnCohorts, 1)
	if err != nil {
		return []Quantity{q.noted("cohort.few-hips")}
	}
	q.P, q.DF = b.P, 0
	return []Quantity{q.made(ByDrawnCohorts)}
}
