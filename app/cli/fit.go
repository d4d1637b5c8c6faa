package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

var fitCommand = command{
	name:  "fit",
	usage: "TABLE.csv [--model line|stick|exp|all] [--start-years 1] [--by group] [--mixed] [--format table|json|csv]",
	about: "fit the steady-state rate of each hip in a table of penetrations",
	help: `
The table's header names the columns hip, years (since surgery), penetration_mm and,
where known, se_mm; rows are weighted by 1/se_mm². Other columns are passed over.
Columns separated by semicolons may have decimal commas.

  --start-years Y   rows at or after this time make the line (1)
  --model M         line: steady state only (default); stick: broken line whose break is
                    sought; exp: bedding-in that dies away, and wear; all: every model,
                    robust lines, their comparison, and what the rate depends on
  --reach-mm D      also the time at which each hip's line reaches D mm
  --by COLUMN       compare the rates of two groups by each hip's own line
  --mixed           linear mixed model (REML) of the whole table, with --by by group;
                    each hip's shrunken rate
  --format F        table, json or csv

Columns of other names:
  --hip, --years, --value, --se, --patient COLUMN
                    hips of one patient share an effect in the mixed model`,
	run: runFit,
}

// fitFlags are the flags of the fit command.
type fitFlags struct {
	start  *float64
	model  *string
	mixed  *bool
	reach  *float64
	column map[string]*string
}

func (c *call) fitFlags() fitFlags {
	f := fitFlags{start: c.years("start-years", 1), model: new(string), column: map[string]*string{}}
	c.flags.Func("model", "", func(s string) error {
		if !slices.Contains([]string{study.FitLineOnly, study.FitStick, study.FitExp, study.FitAll}, s) {
			return errors.New("it is line, stick, exp or all")
		}
		*f.model = s
		return nil
	})
	f.mixed = c.flags.Bool("mixed", false, "")
	f.reach = c.length("reach-mm", 0.01, 50)
	for name, flag := range map[string]string{"hip": "hip", "years": "years", "penetration_mm": "value",
		"se_mm": "se", "patient": "patient", "group": "by"} {
		f.column[name] = c.column(flag)
	}
	c.format()
	return f
}

// column is a flag that names a column.
func (c *call) column(name string) *string {
	v := new(string)
	c.flags.Func(name, "", func(s string) error {
		if s == "" {
			return errors.New("name a column of the table")
		}
		*v = s
		return nil
	})
	return v
}

func columnsOf(given map[string]*string) session.Columns {
	out := session.Columns{}
	for name, own := range given {
		if *own != "" {
			out[name] = *own
		}
	}
	return out
}

func runFit(_ context.Context, c *call) error {
	f := c.fitFlags()
	if err := c.parse(); err != nil {
		return err
	}
	names := columnsOf(f.column)
	cohort := *f.mixed || names["group"] != ""
	if cohort && *f.model != "" && *f.model != study.FitLineOnly {
		return c.fail("leave out one of them", "--model %s goes with neither --mixed nor --by", *f.model)
	}
	if cohort && *f.reach > 0 {
		return c.fail("leave out one of them", "--reach-mm goes with neither --mixed nor --by")
	}
	if names["patient"] != "" && !*f.mixed {
		return c.fail("add --mixed", "--patient is of use to the mixed model only")
	}
	return c.withTable(func(path string, r io.Reader) error {
		switch {
		case cohort:
			return c.quantities(path, func() ([]study.Quantity, []*session.RowError, error) {
				return session.Mixed(r, names, *f.mixed, *f.start)
			})
		case *f.model != "" && *f.model != study.FitLineOnly, *f.reach > 0:
			return c.quantities(path, func() ([]study.Quantity, []*session.RowError, error) {
				return session.Models(r, names, *f.model, *f.start, study.Ask{ReachMM: *f.reach})
			})
		}
		return c.rates(path, r, names, *f.start)
	})
}

// withTable opens the one table that the command was given.
func (c *call) withTable(use func(path string, r io.Reader) error) (err error) {
	if len(c.films) != 1 {
		return c.fail(fmt.Sprintf("name one table: linerwatch %s TABLE.csv", c.name), "%d tables", len(c.films))
	}
	path := c.films[0]
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("%s: %w", c.name, err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return use(path, bufio.NewReader(f))
}

// badRows names the rows that cannot be used.
func (c *call) badRows(path string, bad []*session.RowError) {
	for _, e := range bad {
		complain(c.Env, fmt.Errorf("%s: %s: %w", c.name, path, e))
	}
}

// quantities writes the result of an analysis.
func (c *call) quantities(path string, run func() ([]study.Quantity, []*session.RowError, error)) error {
	list, bad, err := run()
	c.badRows(path, bad)
	if err != nil {
		return fmt.Errorf("%s: %s: %w", c.name, path, err)
	}
	if err := report.Quantities(c.Stdout, c.form, list); err != nil {
		return err
	}
	if len(bad) > 0 {
		return errPartly
	}
	return nil
}

// rates fits the line of each hip.
func (c *call) rates(path string, r io.Reader, names session.Columns, start float64) error {
	rates, bad, err := session.RatesOf(r, names, start)
	if err != nil {
		return fmt.Errorf("fit: %s: %w", path, err)
	}
	c.badRows(path, bad)
	if err := report.Rates(c.Stdout, c.form, rates); err != nil {
		return err
	}
	for _, r := range rates {
		if r.Fit == nil {
			return errPartly
		}
	}
	if len(bad) > 0 {
		return errPartly
	}
	return nil
}
