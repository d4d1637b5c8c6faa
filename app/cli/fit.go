package cli

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"io"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
	"linerwatch/app/tables"
)

var fitCommand = command{
	name:  "fit",
	usage: "TABLE.csv [--model " + strings.Join(modelCodes(), "|") + "] [--start-years 1] [--by group] [--mixed] [--settling] [--medial COLUMN] [--survival] [--format table|json|csv]",
	about: "command.fit",
	run:   runFit,
}

// The kinds of fit, by the flag that asks for each. The first is asked for by
// none.
const (
	fitHips     = ""
	fitCohort   = "mixed"
	fitSettling = "settling"
	fitVector   = "medial"
	fitLiners   = "survival"
	fitPlan     = "plan"
)

// fitTables are the kinds of fit that read a table, the liners' last.
var fitTables = []string{fitHips, fitCohort, fitSettling, fitVector, fitLiners}

// fitUses are the kinds of fit that a flag is of use to; a flag that is not here
// is of use to all that read a table of films.
var fitUses = map[string][]string{
	"model": {fitHips}, "reach-mm": {fitHips}, "reach-percent": {fitHips}, "liner-mm": {fitHips}, "liner": {fitHips},
	"at-years": {fitHips, fitLiners, fitSettling}, "start-years": {fitHips, fitCohort, fitVector},
	"mixed": {fitCohort, fitPlan}, "ml": {fitCohort}, "uncorrelated": {fitCohort, fitSettling}, "covariate": {fitCohort, fitLiners, fitSettling},
	"settling": {fitSettling}, "category": {fitCohort, fitSettling}, "on-rate": {fitCohort, fitSettling}, "on-tau": {fitSettling}, "class": {fitCohort}, "film": {fitCohort}, "patient-rate": {fitCohort},
	"robust": {fitCohort}, "diagnostics": {fitCohort},
	"by":     {fitCohort, fitLiners, fitSettling},
	"medial": {fitVector}, "medial-se": {fitVector}, "direction": {fitVector},
	"survival": {fitLiners}, "event": {fitLiners}, "per": {fitLiners},
	"plan": {fitPlan}, "film-years": {fitPlan}, "sd-mm": {fitPlan}, "between-sd": {fitPlan}, "difference": {fitPlan}, "power": {fitPlan},
	"lost-percent": {fitPlan}, "ratio": {fitPlan}, "studies": {fitPlan},
	"hip": fitTables, "patient": fitTables, "years": fitTables,
	"format": append(fitTables[:len(fitTables):len(fitTables)], fitPlan),
}

// fitFlags are the flags of the fit command.
type fitFlags struct {
	start, reach, percent, liner *float64
	direction                    *float64
	model                        string
	mixed, survival, plan        *bool
	settling                     *bool
	cohort                       study.CohortOptions
	at                           *[]float64
	step                         map[string]float64
	filmYears                    *[]float64
	sd, between                  *float64
	difference, power            *float64
	lost, ratio, runs            *float64
	column                       map[string]*string
}

func (c *call) fitFlags() *fitFlags {
	f := &fitFlags{start: c.years("start-years", 1), column: map[string]*string{}}
	c.flags.Func("model", "", func(s string) error {
		if codes := modelCodes(); !slices.Contains(codes, s) {
			return errors.New(say("cli.it-is", "Names", either(codes)))
		}
		f.model = s
		return nil
	})
	f.reach = c.length("reach-mm", 0.01, 50)
	f.liner = c.length("liner-mm", 1, 50)
	f.percent = c.number("reach-percent", say("fit.percent-range"), 1, 100)
	f.direction = c.number("direction", say("fit.degrees-range"), -180, 180)
	f.at = c.yearList("at-years")
	f.mixed = c.flags.Bool("mixed", false, "")
	c.flags.BoolVar(&f.cohort.ML, "ml", false, "")
	c.flags.BoolVar(&f.cohort.Uncorrelated, "uncorrelated", false, "")
	c.flags.BoolVar(&f.cohort.PatientRate, "patient-rate", false, "")
	c.flags.BoolVar(&f.cohort.Robust, "robust", false, "")
	c.flags.BoolVar(&f.cohort.Diagnostics, "diagnostics", false, "")
	for name, list := range map[string]*[]string{"covariate": &f.cohort.Covariates, "category": &f.cohort.Categories, "on-rate": &f.cohort.OnRate, "on-tau": &f.cohort.OnTau} {
		c.flags.Func(name, "", func(s string) error {
			if s == "" || slices.Contains(*list, s) {
				return errors.New(say("fit.columns-once"))
			}
			*list = append(*list, s)
			return nil
		})
	}
	f.settling = c.flags.Bool("settling", false, "")
	f.survival = c.flags.Bool("survival", false, "")
	f.step = c.steps("per")
	c.planFlags(f)
	for name, flag := range map[string]string{"hip": "hip", "years": "years", "penetration_mm": "value", "offset_mm": "offset",
		"se_mm": "se", "se_baseline_mm": "se-baseline", "se_scale": "se-scale", "patient": "patient", "class": "class", "film": "film", "group": "by", "medial_mm": "medial", "medial_se_mm": "medial-se", "event": "event", "liner_mm": "liner"} {
		f.column[name] = c.column(flag)
	}
	c.format()
	return f
}

// number is a flag with limits, 0 until given.
func (c *call) number(name, want string, lo, hi float64) *float64 {
	v := new(float64)
	c.flags.Func(name, "", func(s string) error {
		x, ok := study.ParseNumber(s)
		if !ok || !(x >= lo && x <= hi) {
			return errors.New(want)
		}
		*v = x
		return nil
	})
	return v
}

// yearList is a flag of years such as 1,2,5.
func (c *call) yearList(name string) *[]float64 {
	v := new([]float64)
	c.flags.Func(name, "", func(s string) error {
		var list []float64
		for part := range strings.SplitSeq(s, ",") {
			x, err := strconv.ParseFloat(strings.TrimSpace(part), 64)
			if err != nil || !(x > 0 && x <= 100) {
				return errors.New(say("fit.years-form"))
			}
			list = append(list, x)
		}
		*v = list
		return nil
	})
	return v
}

// steps is a flag of a column and a step, as rate=0.1.
func (c *call) steps(name string) map[string]float64 {
	out := map[string]float64{}
	c.flags.Func(name, "", func(s string) error {
		column, step, ok := strings.Cut(s, "=")
		v, number := study.ParseNumber(step)
		if !ok || column == "" || !number || !(v > 0 && v <= 1e6) {
			return errors.New(say("fit.step-form"))
		}
		out[column] = v
		return nil
	})
	return out
}

// column is a flag that names a column.
func (c *call) column(name string) *string {
	v := new(string)
	c.flags.Func(name, "", func(s string) error {
		if s == "" {
			return errors.New(say("fit.name-column"))
		}
		*v = s
		return nil
	})
	return v
}

func columnsOf(given map[string]*string) tables.Columns {
	out := tables.Columns{}
	for name, own := range given {
		if *own != "" {
			out[name] = *own
		}
	}
	return out
}

// askedBy returns the flags that ask for a kind of fit, without the hyphens of the first.
func askedBy(kind string) string {
	if kind == fitCohort {
		return say("fit.mixed-or-by")
	}
	return kind
}

// kind says which kind of fit is asked for, and refuses flags that it has no use
// for.
func (c *call) kind(f *fitFlags) (string, error) {
	kind := fitHips
	switch {
	case *f.plan:
		kind = fitPlan
	case *f.survival:
		kind = fitLiners
	case *f.settling:
		kind = fitSettling
	case *f.column["medial_mm"] != "":
		kind = fitVector
	case *f.mixed || *f.column["group"] != "":
		kind = fitCohort
	}
	var err error
	c.flags.Visit(func(g *flag.Flag) {
		uses, ok := fitUses[g.Name]
		if !ok {
			uses = fitTables[:len(fitTables)-1]
		}
		switch {
		case err != nil || slices.Contains(uses, kind):
		case kind == fitHips:
			err = c.fail(say("cli.add-flag", "Flag", askedBy(uses[0])), say("fit.no-use-alone", "Flag", g.Name))
		default:
			err = c.fail(say("cli.leave-one-of"), say("fit.no-use-with", "Flag", g.Name, "With", askedBy(kind)))
		}
	})
	if err != nil {
		return "", err
	}
	switch {
	case kind == fitCohort && f.needsMixed() != "" && !*f.mixed:
		return "", c.fail(say("cli.add-mixed"), say("fit.mixed-only", "Flag", f.needsMixed()))
	case len(f.unused()) > 0:
		return "", c.fail(say("fit.name-covariate"), say("fit.per-none", "Column", f.unused()[0]))
	case f.cohort.PatientRate && *f.column["patient"] == "":
		return "", c.fail(say("cli.give-both"), say("fit.patient-rate"))
	case f.onNothing(f.cohort.OnRate) != "":
		return "", c.fail(say("fit.name-there"), say("fit.on-rate", "Column", f.onNothing(f.cohort.OnRate)))
	case f.onNothing(f.cohort.OnTau, *f.column["group"]) != "":
		return "", c.fail(say("fit.name-there"), say("fit.on-tau", "Column", f.onNothing(f.cohort.OnTau, *f.column["group"])))
	case *f.percent > 0 && *f.liner == 0 && *f.column["liner_mm"] == "", *f.percent == 0 && (*f.liner > 0 || *f.column["liner_mm"] != ""):
		return "", c.fail(say("cli.give-both"), say("fit.reach-percent"))
	case *f.liner > 0 && *f.column["liner_mm"] != "":
		return "", c.fail(say("cli.leave-one-of"), say("fit.two-liners"))
	}
	return kind, nil
}

// unused are the columns of --per that are no covariates.
func (f *fitFlags) unused() []string {
	var out []string
	for column := range f.step {
		if !slices.Contains(f.cohort.Covariates, column) {
			out = append(out, column)
		}
	}
	return out
}

// needsMixed names a flag that was given and is of use to the mixed model only.
func (f *fitFlags) needsMixed() string {
	o := f.cohort
	for _, g := range []struct {
		name  string
		given bool
	}{
		{"ml", o.ML}, {"uncorrelated", o.Uncorrelated}, {"patient-rate", o.PatientRate}, {"robust", o.Robust},
		{"diagnostics", o.Diagnostics}, {"covariate", o.Covariates != nil},
		{"category", o.Categories != nil}, {"on-rate", o.OnRate != nil},
		{"class", *f.column["class"] != ""}, {"film", *f.column["film"] != ""},
	} {
		if g.given {
			return g.name
		}
	}
	return ""
}

// onNothing names a column that is to act on something and is nothing else.
func (f *fitFlags) onNothing(list []string, known ...string) string {
	for _, name := range list {
		if !slices.Contains(slices.Concat(f.cohort.Covariates, f.cohort.Categories, known), name) {
			return name
		}
	}
	return ""
}

// asks are what the models are asked besides their parameters.
func (f *fitFlags) asks() []study.Ask {
	var out []study.Ask
	if *f.reach > 0 {
		out = append(out, study.Ask{ReachMM: *f.reach})
	}
	switch {
	case *f.liner > 0:
		out = append(out, study.AskLiner(*f.percent, *f.liner))
	case *f.percent > 0:
		out = append(out, study.Ask{Percent: *f.percent})
	}
	for _, y := range *f.at {
		out = append(out, study.Ask{AtYears: y})
	}
	return out
}

func runFit(_ context.Context, c *call) error {
	f := c.fitFlags()
	if err := c.parse(); err != nil {
		return err
	}
	kind, err := c.kind(f)
	if err != nil {
		return err
	}
	if kind == fitPlan {
		return c.plan(f)
	}
	names := columnsOf(f.column)
	f.cohort.Start, f.cohort.AtYears = *f.start, *f.at
	by := func(name string) bool { return name == names["group"] }
	f.cohort.GroupTau = slices.ContainsFunc(f.cohort.OnTau, by)
	f.cohort.OnTau = slices.DeleteFunc(f.cohort.OnTau, by)
	return c.withTable(func(path string, r io.Reader) error {
		if kind == fitHips && f.asks() == nil && cmp.Or(f.model, study.ModelKinds()[0].Code) == study.LineModel {
			return c.rates(path, r, names, *f.start)
		}
		if kind == fitHips {
			return c.models(path, r, names, f)
		}
		return c.quantities(path, func() ([]study.Quantity, []*tables.RowError, error) {
			switch kind {
			case fitSettling:
				return tables.Settle(r, names, f.cohort)
			case fitVector:
				return tables.Vectors(r, names, *f.start, *f.direction)
			case fitLiners:
				return tables.Liners(r, names, study.LinerOptions{Years: *f.at, Covariates: f.cohort.Covariates, Step: f.step})
			}
			return tables.Mixed(r, names, *f.mixed, f.cohort)
		})
	})
}
