package cli

import (
	"context"
	"errors"
	"fmt"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// importing is one call of study import.
type importing struct {
	*call
	tables batch.Tables
	filing batch.FilingOptions
	by     study.Stamp
	dry    bool
	st     study.Store
}

func runImport(ctx context.Context, c *call) (err error) {
	in := &importing{call: c}
	in.flagged()
	if err := c.parse(); err != nil {
		return err
	}
	if err := in.checked(); err != nil {
		return err
	}
	if in.st, err = c.openStudy(ctx, c.films[0]); err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.st.Close()) }()
	return in.run(ctx)
}

func (in *importing) flagged() {
	f := in.flags
	f.StringVar(&in.tables.HipsFile, "hips", "", "")
	f.StringVar(&in.tables.EventsFile, "events", "", "")
	f.StringVar(&in.tables.FilmsFile, "films", "", "")
	f.Func("map", "", func(s string) error {
		g, err := roster.ParseGiven(s)
		if err != nil {
			return errors.New(study.Told(err))
		}
		in.tables.Given = append(in.tables.Given, g)
		return nil
	})
	f.Func("dates", "", func(s string) error {
		in.tables.Dates = roster.DateOrder(s)
		if in.tables.Dates != roster.DayFirst && in.tables.Dates != roster.MonthFirst {
			return errors.New(say("cli.date-orders"))
		}
		return nil
	})
	f.StringVar(&in.tables.Site, "site", "", "")
	f.BoolVar(&in.filing.Both, "both", false, "")
	f.StringVar(&in.by.Reader, "reader", "", "")
	f.StringVar(&in.by.Why, "why", "", "")
	f.BoolVar(&in.dry, "dry-run", false, "")
}

func (in *importing) checked() error {
	const how = "linerwatch study import FILE" + study.FileExt + " FOLDER --hips hips.csv --reader CODE"
	switch {
	case len(in.films) == 0 || !study.IsFile(in.films[0]):
		return in.fail(how, say("cli.name-first"))
	case len(in.films) == 1 && in.tables.HipsFile+in.tables.EventsFile+in.tables.FilmsFile == "":
		return in.fail(how, say("cli.nothing-to-import"))
	case in.by.Reader == "" && !in.dry:
		return in.fail(say("cli.say-who-imports"), say("cli.no-reader"))
	}
	now := in.Now()
	in.tables.Now, in.filing.Now = now, now
	in.filing.Site, in.by.At, in.by.Version = in.tables.Site, now.UTC(), in.Version
	return nil
}

// run shows what is to be done and, unless that is all, does it.
func (in *importing) run(ctx context.Context) error {
	roll, err := batch.PlanRoll(ctx, in.st, in.tables)
	if err != nil {
		return fmt.Errorf("study import: %w", err)
	}
	if err := lines(in.Stdout, roll.Told()...); err != nil {
		return err
	}
	if len(roll.Bad) > 0 {
		return in.bad(roll)
	}
	if roll.Amended() > 0 && in.by.Why == "" && !in.dry {
		return in.fail(say("cli.say-why"), say("cli.tables-change", "N", roll.Amended()))
	}
	filing, err := in.file(ctx, roll)
	if err != nil {
		return err
	}
	if filing != nil {
		if err := lines(in.Stdout, filing.Told()...); err != nil {
			return err
		}
	}
	doubts, err := roll.Doubts(ctx, in.st, filing)
	if err != nil {
		return fmt.Errorf("study import: %w", err)
	}
	if err := lines(in.Stdout, doubts...); err != nil {
		return err
	}
	if in.dry {
		_, err := fmt.Fprintln(in.Stdout, say("cli.dry"))
		return err
	}
	return in.write(ctx, roll, filing)
}

// bad names the rows that cannot be used.
func (in *importing) bad(roll batch.Roll) error {
	for _, text := range roll.BadTold() {
		complain(in.Env, errors.New("study import: "+text))
	}
	complain(in.Env, errors.New("study import: "+say("cli.bad-cells", "N", len(roll.Bad))))
	return errPartly
}

// file reads the films that are named; nil where none are.
func (in *importing) file(ctx context.Context, roll batch.Roll) (*batch.Filing, error) {
	if len(in.films) == 1 {
		return nil, nil
	}
	show, clear := in.progress(say("cli.reads-films"))
	defer clear()
	p, err := batch.PlanFiling(ctx, in.st, in.films[1:], roll.Hips, in.filing, show)
	if err != nil && !errors.Is(err, context.Canceled) {
		err = fmt.Errorf("study import: %w", err)
	}
	return p, err
}

func (in *importing) write(ctx context.Context, roll batch.Roll, filing *batch.Filing) error {
	if err := roll.Enter(ctx, in.st, in.by); err != nil {
		return fmt.Errorf("study import: %s: %w", say("cli.nothing-written"), err)
	}
	if filing != nil {
		show, clear := in.progress(say("cli.keeps-films"))
		err := filing.Keep(ctx, in.st, in.by, show)
		clear()
		if err != nil {
			return fmt.Errorf("study import: %s: %w", say("cli.not-all-films"), err)
		}
	}
	text := say("cli.entered")
	if roll.Empty() && (filing == nil || !filing.Writes()) {
		text = say("cli.nothing-new")
	}
	if _, err := fmt.Fprintln(in.Stdout, text); err != nil {
		return err
	}
	if filing != nil && len(filing.Faults) > 0 {
		return errPartly
	}
	return nil
}

// lines writes lines to w.
func lines(w io.Writer, list ...string) error {
	for _, l := range list {
		if _, err := fmt.Fprintln(w, report.OneLine(l)); err != nil {
			return err
		}
	}
	return nil
}
