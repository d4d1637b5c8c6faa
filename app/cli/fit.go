package cli

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"os"

	"linerwatch/app/report"
	"linerwatch/app/session"
)

var fitCommand = command{
	name:  "fit",
	usage: "TABLE.csv [--start-years 1] [--format table|json|csv]",
	about: "fit the steady-state rate of each hip in a table of penetrations",
	help: `
The table's header names the columns hip, years (since surgery), penetration_mm and,
where known, se_mm; rows are weighted by 1/se_mm². Other columns are passed over.

  --start-years Y   rows at or after this time make the line (1)
  --format F        table, json or csv`,
	run: runFit,
}

func runFit(_ context.Context, c *call) (err error) {
	start := c.years("start-years", 1)
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 1 {
		return c.fail("name one table: linerwatch fit TABLE.csv", "%d tables", len(c.films))
	}
	path := c.films[0]
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("fit: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	rates, bad, err := session.Rates(bufio.NewReader(f), *start)
	if err != nil {
		return fmt.Errorf("fit: %s: %w", path, err)
	}
	for _, e := range bad {
		complain(c.Env, fmt.Errorf("fit: %s: %w", path, e))
	}
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
