package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/tables"
)

var agreeCommand = command{
	name:    "agree",
	studies: true,
	usage:   "STUDY.linerwatch | TABLE.csv [--target hip] [--reader reader] [--value penetration_mm] [--format table|json|csv]",
	about:   "command.agree",
	run:     runAgree,
}

func runAgree(ctx context.Context, c *call) error {
	target, reader, value, of := c.column("target"), c.column("reader"), c.column("value"), c.column("of")
	unit := c.flags.String("unit", "mm", "")
	medial, by := c.flags.Bool("medial", false, ""), c.by()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) == 1 && study.IsFile(c.films[0]) {
		return c.agreeStudy(ctx, *medial, *by)
	}
	names := columnsOf(map[string]*string{"target": target, "reader": reader, "value": value, "owner": of})
	return c.withTable(func(path string, r io.Reader) error {
		return c.quantities(path, func() ([]study.Quantity, []*tables.RowError, error) {
			return tables.Agreement(r, names, *unit)
		})
	})
}

// agreeStudy judges the readings of a study.
func (c *call) agreeStudy(ctx context.Context, medial bool, by string) (err error) {
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	a, err := batch.Agreement(ctx, st, medial)
	if err != nil {
		return fmt.Errorf("agree: %s: %s", study.NameOf(c.films[0]), study.Told(err))
	}
	for _, n := range a.Reported() {
		if err := c.say(study.NoteWords(n)); err != nil {
			return err
		}
	}
	if err := c.discloses(ctx, st, c.films[0], by, study.Disclosure{Kind: study.ToldAgreement}); err != nil {
		return err
	}
	return report.Quantities(c.Stdout, c.form, a.Quantities)
}
