package study

import (
	"errors"

	"linerwatch/wearfit/survive"
)

// tested is a chi-square test as a quantity.
func tested(model, name string, t survive.Test, by Convention) Quantity {
	return Quantity{Model: model, Name: name, Value: t.ChiSquare, DF: float64(t.DF), P: t.P, HasP: true, By: by,
		Note: Note{Code: "liners.chi-square"}}
}

// compared are the tests between groups. They count liners: where a patient has more
// than one, the note says so.
func (c *linerCohort) compared() []Quantity {
	var all [][]survive.Liner
	for _, n := range c.names {
		all = append(all, c.groups[n])
	}
	var out []Quantity
	add := func(model, name string, t survive.Test, err error, by Convention) {
		if err != nil {
			out = append(out, missing("", model, name, "", err))
			return
		}
		q := tested(model, name, t, by)
		if c.paired {
			q.Note = listed([]Note{q.Note, {Code: "liners.counted"}})
		}
		out = append(out, q)
	}
	const rank, gray = "log-rank test", "Gray's test"
	r, err := survive.LogRank(all...)
	add(rank, "revised alike", r.Test, err, ByLogRank)
	if err == nil {
		for i, n := range c.names {
			out = append(out, Quantity{Of: n, Model: rank, Name: "revisions expected", Value: r.Expected[i]})
		}
	}
	if !c.compete() {
		return out
	}
	for _, e := range c.events {
		name := "revised alike"
		if e != survive.Revised {
			name = c.event(e) + " alike"
		}
		t, err := survive.Gray(e, all...)
		add(gray, name, t, err, ByGray)
	}
	return out
}

// leastRevisions are those that a hazard ratio should rest on for each column (Peduzzi P,
// Concato J, Feinstein AR, Holford TR. J Clin Epidemiol 1995;48:1503-1510). With 15
// patients intervals of a ratio held in 97 to 99.9 % (go run ./wearfit/bench -survival).
const leastRevisions = 10

// hazards is the regression on groups, the first of which is the reference, and
// covariates.
func (c *linerCohort) hazards() []Quantity {
	const name = "Cox regression"
	columns, what, steps := c.columns()
	h, err := survive.Cox(c.all, columns)
	if err != nil {
		return []Quantity{missing("", name, "hazard ratios", "", c.named(err, what))}
	}
	ratio := ByEfron
	if h.Clustered {
		ratio = ByEfronPatients
	}
	few := Note{}
	if h.Events < leastRevisions*len(columns) {
		few = Note{Code: "liners.few-revisions", Values: Values{"N": float64(h.Events), "Need": float64(leastRevisions)}}
	}
	var out []Quantity
	for j, e := range h.Coef {
		hr, interval := h.Ratio(j, steps[j], level)
		q := Quantity{Model: name, Name: "hazard ratio, " + what[j], Value: hr, DF: e.DF, P: e.P(0), HasP: true, By: ratio}
		q.Note = few
		out = append(out, q.within(interval))
		e.Value, e.SE = e.Value*steps[j], e.SE*steps[j]
		q = Quantity{Model: name, Name: "its logarithm, " + what[j], Value: e.Value, SE: e.SE, DF: e.DF, By: ratio}
		out = append(out, q.within(e.Interval(level)))
	}
	const none = "no column matters"
	if h.Clustered {
		out = append(out, tested(name, none, h.Wald, ByWaldPatients), tested(name, none, h.RobustScore, ByScorePatients))
	} else {
		out = append(out, tested(name, none, h.Likelihood, ByLikelihood), tested(name, none, h.Wald, ByWald), tested(name, none, h.Score, ByScore))
	}
	return append(out, c.constant(name, h, what)...)
}

// constant tells whether hazard ratios are the same at all times.
func (c *linerCohort) constant(model string, h survive.Hazards, what []string) []Quantity {
	const name = "hazard ratio the same at all times, "
	var out []Quantity
	add := func(of string, t survive.Test) {
		if t.DF == 0 {
			out = append(out, Quantity{Model: model, Name: name + of}.without(Note{Code: "liners.not-constant"}))
			return
		}
		out = append(out, tested(model, name+of, t, ByProportional))
	}
	each, all := h.Proportional()
	for j, t := range each {
		add(what[j], t)
	}
	if len(each) > 1 {
		add("all columns", all)
	}
	return out
}

// columns are those of the regression, what each tells, and the step of its ratio.
func (c *linerCohort) columns() (columns [][]float64, what []string, steps []float64) {
	for _, g := range c.names[1:] {
		var v []float64
		for _, r := range c.rows {
			if r.Group == g {
				v = append(v, 1)
			} else {
				v = append(v, 0)
			}
		}
		columns, what, steps = append(columns, v), append(what, g+" against "+c.names[0]), append(steps, 1)
	}
	for j, n := range c.Covariates {
		var v []float64
		for _, r := range c.rows {
			v = append(v, r.Covariates[j])
		}
		step := c.Step[n]
		if step == 0 {
			step = 1
		}
		columns, what, steps = append(columns, v), append(what, n+" by "+digits(step)), append(steps, step)
	}
	return columns, what, steps
}

// named is an error with the name of the column that it is of.
func (c *linerCohort) named(err error, what []string) error {
	var column *survive.ColumnError
	if errors.As(err, &column) {
		return NewError("liners.column", Values{"Column": what[column.Column], "Why": NoteOf(column.Err)})
	}
	return err
}
