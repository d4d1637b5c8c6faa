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
	about:   "judge how far readers agree, with each other and with themselves",
	help: `
Of a study the offsets of the head from the cup are judged: a target is a film of a hip, of a
reader each occasion is one reading, and of a correction the last. Withdrawn readings, those of
films that are left out and adjudications do not count; how many is told. Double examinations
are films of one day, and those that a list names. What is to be reported beside the numbers
(GRRAS, Kottner et al. 2011) is told on stderr.

A table has one row per reading. Not every reader need read every target, and
a reader may read one more than once. Rows that hold NA in a column that is used are
passed over and counted. Each number names the convention that made
it, and what each means stands below the table.

For each pair of readers: bias, limits of agreement (Bland and Altman 1999; with
repeats, or several targets of one hip, 2007) with exact intervals, or by MOVER
(Zou 2013), and Lin's concordance.
For a reader who read targets twice: within-target SD and repeatability.
Where every reader read every target: the six intraclass correlations of Shrout
and Fleiss with McGraw and Wong's names, from each reader's first reading.
From all readings: the SD of targets, readers, targets by readers and repeats,
by REML; repeatability and reproducibility (ISO 5725-2); the standard error of
measurement (SEM) and smallest detectable change (1.96 sqrt(2) SEM), for
agreement and for consistency; ICC(A,1) and ICC(C,1). Their intervals are by the
modified large-sample method. With two or three readers those that hold the
differences between readers are wide: so few tell little of what others do.
A coefficient is a share of variance: what falls below 0 is 0, and its note says
so.

readings.csv, as the window and study export write it, needs no more than a value:
  agree --value offset_superior_mm readings.csv
and penetration.csv the same. Their targets are films, which belong to hips. A row counts that is a reading, was not
withdrawn, is of a film that is not left out, and that no reading which stands supersedes:
so readings of one reader are repeats where none replaces the other. An offset is a
reader's own; a penetration there is counted from the baseline film's reading that counts,
for every reader.

  --target COLUMN   what was read (hip)
  --of COLUMN       what targets belong to, such as the hip of each film: its
                    films then do not count as independent in the limits
  --reader COLUMN   who read it (reader)
  --value COLUMN    the reading (penetration_mm)
  --unit TEXT       of the readings (mm)
  --medial          of a study: the medial part of the offset, not the superior one
  --by CODE         of a study: who asks, for the audit trail (coordinator)
  --format F        table, json or csv`,
	run: runAgree,
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
		if err := c.say("%s", study.NoteWords(n)); err != nil {
			return err
		}
	}
	if err := c.discloses(ctx, st, c.films[0], by, study.Disclosure{Kind: study.ToldAgreement}); err != nil {
		return err
	}
	return report.Quantities(c.Stdout, c.form, a.Quantities)
}
