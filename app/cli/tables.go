package cli

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

// withTable opens the one table that the command was given.
func (c *call) withTable(use func(path string, r io.Reader) error) (err error) {
	if len(c.films) != 1 {
		return c.fail(say("cli.name-table", "Command", c.name), say("cli.tables", "N", len(c.films)))
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
func (c *call) badRows(path string, bad []*tables.RowError) {
	for _, e := range bad {
		complain(c.Env, fmt.Errorf("%s: %s: %w", c.name, path, e))
	}
}

// tableFault is the error of a table that cannot be read. Columns of other names are
// no fault where flags say which they are.
func (c *call) tableFault(path string, err error) error {
	var no *tables.ColumnError
	if errors.As(err, &no) {
		return fmt.Errorf("%s: %s: %w; %s", c.name, path, err, say("cli.columns-otherwise", "Command", c.name))
	}
	return fmt.Errorf("%s: %s: %w", c.name, path, err)
}

// quantities writes the result of an analysis.
func (c *call) quantities(path string, run func() ([]study.Quantity, []*tables.RowError, error)) error {
	list, bad, err := run()
	c.badRows(path, bad)
	if err != nil {
		return c.tableFault(path, err)
	}
	if err := report.Quantities(c.Stdout, c.form, list); err != nil {
		return err
	}
	if len(bad) > 0 {
		return errPartly
	}
	return nil
}

// models fits models to each hip, and writes what one tells before the next is done.
func (c *call) models(path string, r io.Reader, names tables.Columns, f *fitFlags) error {
	out := report.NewQuantities(c.Stdout, c.form)
	bad, err := tables.Models(r, names, f.model, *f.start, out.Add, f.asks()...)
	c.badRows(path, bad)
	if err != nil {
		return c.tableFault(path, err)
	}
	if err := out.Close(); err != nil {
		return err
	}
	if len(bad) > 0 {
		return errPartly
	}
	return nil
}

// rates fits the line of each hip.
func (c *call) rates(path string, r io.Reader, names tables.Columns, start float64) error {
	rates, bad, err := tables.Rates(r, names, start)
	if err != nil {
		return c.tableFault(path, err)
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
