package study

import (
	"fmt"
	"slices"

	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed"
)

// cohort is the films in the steady state as a design.
type cohort struct {
	data    lmm.Data
	columns []column // of the fixed effects
	options CohortOptions
	groups  []string   // sorted; the first is the reference
	levels  [][]string // of each category, sorted; the first is the reference
	hips    map[string]hipOf
	means   []float64 // of the covariates over the films
	start   float64   // years, where the steady state begins
	early   int       // films before it
	// unknown are films whose error is not stated, where others' are; baseless says so of
	// the baseline film of some hips.
	unknown  int
	baseless bool
}

// hipOf is what does not change from film to film of a hip. A category is the number
// of its level.
type hipOf struct {
	group      int
	covariates []float64
	categories []int
}

// column is a fixed effect: what a hip has of it, once or for each year.
type column struct {
	name, unit string
	of         func(h hipOf) float64
	onRate     bool
	group      bool // tells groups apart
	category   int  // which category it is of, from 1 on; 0: of none
}

func (c column) at(h hipOf, years float64) float64 {
	if c.onRate {
		return c.of(h) * years
	}
	return c.of(h)
}

// sinceBaseline are rows of offsets as penetrations of each hip.
func sinceBaseline(rows []CohortRow) []CohortRow {
	if len(rows) == 0 || !rows[0].Offset {
		return rows
	}
	of := map[string][]int{}
	for i, r := range rows {
		of[r.Hip] = append(of[r.Hip], i)
	}
	out := slices.Clone(rows)
	for _, list := range of {
		points := make([]Point, len(list))
		for k, i := range list {
			points[k] = rows[i].Point
		}
		for k, p := range penetrations(points) {
			out[list[k]].Point = p
		}
	}
	return out
}

func newCohort(rows []CohortRow, o CohortOptions) (cohort, error) {
	rows = sinceBaseline(rows)
	c, err := describe(rows, o)
	if err != nil {
		return c, err
	}
	var late []int
	for i, r := range rows {
		if InSteadyState(r.Years, c.start) {
			late = append(late, i)
		}
	}
	c.early = len(rows) - len(late)
	c.setMeans(rows, late)
	c.setColumns(ofIntercept)
	c.fill(rows, late)
	if slices.ContainsFunc(rows, func(r CohortRow) bool { return r.SE > 0 }) {
		c.stateErrors(rows, late)
	}
	return c, nil
}

// describe checks the rows and keeps what they say of the hips.
func describe(rows []CohortRow, o CohortOptions) (cohort, error) {
	c := cohort{options: o, hips: map[string]hipOf{}, means: make([]float64, len(o.Covariates)), levels: make([][]string, len(o.Categories))}
	for _, name := range slices.Concat(o.OnRate, o.OnTau) {
		if !slices.Contains(o.Covariates, name) && !slices.Contains(o.Categories, name) {
			return c, NewError("cohort.no-column", Values{"Column": name})
		}
	}
	c.start = Hip{StartYears: o.Start}.Start()
	for _, r := range rows {
		if why := rowFault(r.Point); !why.IsZero() {
			return c, NewError("cohort.row", Values{"Hip": r.Hip, "Why": why})
		}
		if len(r.Covariates) != len(o.Covariates) || len(r.Categories) != len(o.Categories) {
			return c, NewError("cohort.columns", Values{"Hip": r.Hip})
		}
		c.groups = append(c.groups, r.Group)
		for j, v := range r.Categories {
			c.levels[j] = append(c.levels[j], v)
		}
	}
	c.groups = distinct(c.groups)
	for j := range c.levels {
		c.levels[j] = distinct(c.levels[j])
	}
	for _, r := range rows {
		if err := c.know(r); err != nil {
			return cohort{}, err
		}
	}
	return c, nil
}

// setMeans takes the means of the covariates over some of the rows.
func (c *cohort) setMeans(rows []CohortRow, of []int) {
	for _, i := range of {
		for j, v := range rows[i].Covariates {
			c.means[j] += v / float64(len(of))
		}
	}
}

func distinct(list []string) []string {
	slices.Sort(list)
	return slices.Compact(list)
}

// know keeps group and covariates of a hip, which are the same on all its films.
func (c *cohort) know(r CohortRow) error {
	o := c.options
	h := hipOf{group: slices.Index(c.groups, r.Group), covariates: r.Covariates}
	for j, v := range r.Categories {
		h.categories = append(h.categories, slices.Index(c.levels[j], v))
	}
	had, ok := c.hips[r.Hip]
	if !ok {
		c.hips[r.Hip] = h
		return nil
	}
	if had.group != h.group {
		return NewError("cohort.two-groups", Values{"Hip": r.Hip, "First": c.groups[had.group], "Second": r.Group})
	}
	for j, v := range h.covariates {
		if had.covariates[j] != v {
			return NewError("cohort.two-values", Values{"Hip": r.Hip, "Of": o.Covariates[j], "First": had.covariates[j], "Second": v})
		}
	}
	for j, v := range h.categories {
		if had.categories[j] != v {
			return NewError("cohort.two-words", Values{"Hip": r.Hip, "Of": o.Categories[j], "First": c.levels[j][had.categories[j]], "Second": r.Categories[j]})
		}
	}
	return nil
}

// wording is what fixed effects beside those of the rate are called.
type wording struct{ level, effect, category string }

var (
	ofIntercept = wording{level: "intercept"}
	ofBedding   = wording{"bedding-in", " on bedding-in", "bedding-in by "}
)

// setColumns lists the fixed effects: level and rate of the first group, what each
// other group differs by, covariates about their means, what each other level of a
// category differs by.
func (c *cohort) setColumns(w wording) {
	o := c.options
	one := func(hipOf) float64 { return 1 }
	first := ""
	if len(c.groups) > 1 {
		first = " of " + c.groups[0]
	}
	c.columns = []column{{name: w.level + first, unit: unitMM, of: one}, {name: "rate" + first, unit: unitRate, of: one, onRate: true}}
	for g := 1; g < len(c.groups); g++ {
		in := func(h hipOf) float64 { return indicator(h.group == g) }
		less := c.groups[g] + " less " + c.groups[0]
		c.columns = append(c.columns, column{name: w.level + ", " + less, unit: unitMM, of: in, group: true},
			column{name: "rate, " + less, unit: unitRate, of: in, onRate: true, group: true})
	}
	for j, n := range o.Covariates {
		about := func(h hipOf) float64 { return h.covariates[j] - c.means[j] }
		c.columns = append(c.columns, column{name: fmt.Sprintf("effect of %s%s, about its mean %.4g", n, w.effect, c.means[j]), unit: "mm per unit", of: about})
		if slices.Contains(o.OnRate, n) {
			c.columns = append(c.columns, column{name: fmt.Sprintf("effect of %s on the rate", n), unit: "mm/year per unit", of: about, onRate: true})
		}
	}
	for j, n := range o.Categories {
		for l := 1; l < len(c.levels[j]); l++ {
			in := func(h hipOf) float64 { return indicator(len(h.categories) > j && h.categories[j] == l) }
			less := n + ", " + c.levels[j][l] + " less " + c.levels[j][0]
			c.columns = append(c.columns, column{name: w.category + less, unit: unitMM, of: in, category: j + 1})
			if slices.Contains(o.OnRate, n) {
				c.columns = append(c.columns, column{name: "rate by " + less, unit: unitRate, of: in, onRate: true, category: j + 1})
			}
		}
	}
}

func indicator(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// fill makes the table of films.
func (c *cohort) fill(rows []CohortRow, late []int) {
	some := func(is func(r CohortRow) string) []string {
		if !slices.ContainsFunc(late, func(i int) bool { return is(rows[i]) != "" }) {
			return nil
		}
		return mapped(late, func(i int) string { return is(rows[i]) })
	}
	d := &c.data
	d.Hip = mapped(late, func(i int) string { return rows[i].Hip })
	d.Time = mapped(late, func(i int) float64 { return rows[i].Years })
	d.Value = mapped(late, func(i int) float64 { return rows[i].MM })
	d.Patient = some(func(r CohortRow) string { return r.Patient })
	d.Class = some(func(r CohortRow) string { return r.Class })
	d.Film = some(func(r CohortRow) string { return r.Film })
	for _, col := range c.columns {
		d.Names = append(d.Names, col.name)
		d.Fixed = append(d.Fixed, mapped(late, func(i int) float64 { return col.at(c.hips[rows[i].Hip], rows[i].Years) }))
	}
}

func mapped[S, T any](list []S, of func(v S) T) []T {
	out := make([]T, len(list))
	for k, v := range list {
		out[k] = of(v)
	}
	return out
}

// stateErrors takes the errors of the readings, where any is stated, and of each hip's
// baseline film. Where a film's is not, it is taken for the others' root mean square.
// A baseline film that is itself in the steady state is a film like the others: its
// error is its own, and the hip's intercept is no bedding-in.
func (c *cohort) stateErrors(rows []CohortRow, late []int) {
	own, base := make([]float64, len(rows)), make([]float64, len(rows))
	for hip, list := range c.rowsOf(rows) {
		points := make([]Point, len(list))
		for k, i := range list {
			points[k] = rows[i].Point
		}
		h := newHipFilms(hip, points, c.start)
		if h.se == nil {
			continue
		}
		shared := h.base.se
		if h.inside() {
			shared = 0
		}
		for k, i := range list {
			own[i], base[i] = h.se[k], shared
		}
	}
	var known, shared, se []float64
	for _, i := range late {
		se, shared = append(se, own[i]), append(shared, base[i])
		if own[i] > 0 {
			known = append(known, own[i])
		}
		if base[i] == 0 {
			c.baseless = true
		}
	}
	if len(known) == 0 {
		return
	}
	for i, v := range se {
		if v == 0 {
			se[i] = wearfit.RMS(known)
			c.unknown++
		}
	}
	c.data.SE = se
	if slices.Max(shared) > 0 {
		c.data.BaseSE = shared
	}
}

// rowsOf are the rows of each hip.
func (c *cohort) rowsOf(rows []CohortRow) map[string][]int {
	of := map[string][]int{}
	for i, r := range rows {
		of[r.Hip] = append(of[r.Hip], i)
	}
	return of
}

// lineOf is the combination of the fixed effects that is a hip's intercept or
// rate.
func (c cohort) lineOf(h hipOf) (intercept, rate []float64) {
	for _, col := range c.columns {
		at := col.at(h, 0)
		intercept, rate = append(intercept, at), append(rate, col.at(h, 1)-at)
	}
	return intercept, rate
}

// without is the cohort without the columns that drop says so of.
func (c cohort) without(drop func(col column) bool) cohort {
	fixed, names, columns := c.data.Fixed, c.data.Names, c.columns
	c.data.Fixed, c.data.Names, c.columns = nil, nil, nil
	for j, col := range columns {
		if !drop(col) {
			c.data.Fixed, c.data.Names, c.columns = append(c.data.Fixed, fixed[j]), append(c.data.Names, names[j]), append(c.columns, col)
		}
	}
	return c
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
