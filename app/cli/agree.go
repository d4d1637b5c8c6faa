package cli

import (
	"context"
	"io"

	"linerwatch/app/study"
	"linerwatch/app/tables"
)

var agreeCommand = command{
	name:  "agree",
	usage: "TABLE.csv [--target hip] [--reader reader] [--value penetration_mm] [--format table|json|csv]",
	about: "judge how far readers agree, with each other and with themselves",
	help: `
The table has one row per reading. For each pair of readers: bias and limits of agreement
with exact intervals, and Lin's concordance. For a reader who read targets twice: the
repeatability coefficient. Where every reader read every target: the six intraclass
correlations (from each reader's first reading), the smallest detectable change, and, with
repeats, the components of a crossed study.

  --target COLUMN   what was read (hip)
  --reader COLUMN   who read it (reader)
  --value COLUMN    the reading (penetration_mm)
  --unit TEXT       of the readings (mm)
  --format F        table, json or csv`,
	run: runAgree,
}

func runAgree(_ context.Context, c *call) error {
	target, reader, value := c.column("target"), c.column("reader"), c.column("value")
	unit := c.flags.String("unit", "mm", "")
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	names := tables.Columns{"target": "hip", "reader": "reader", "value": "penetration_mm"}
	for name, own := range map[string]*string{"target": target, "reader": reader, "value": value} {
		if *own != "" {
			names[name] = *own
		}
	}
	return c.withTable(func(path string, r io.Reader) error {
		return c.quantities(path, func() ([]study.Quantity, []*tables.RowError, error) {
			return tables.Agreement(r, names, *unit)
		})
	})
}
