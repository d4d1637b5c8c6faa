package cli

import (
	"context"
	"errors"
	"io"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var resultsCommand = command{
	studies: true,
	name:    "results",
	usage:   "FILE.linerwatch --hip HIP --out DIR [--readings-of READER] [--format table|json|csv]",
	about:   "command.results",
	run:     runResults,
}

func runResults(ctx context.Context, c *call) (err error) {
	hip := c.flags.String("hip", "", "")
	out := c.flags.String("out", "", "")
	whose, by := c.flags.String("readings-of", "", ""), c.by()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	switch {
	case len(c.films) != 1:
		return c.fail("linerwatch results FILE"+study.FileExt+" --hip HIP --out DIR", say("cli.name-study"))
	case *hip == "":
		return c.fail(say("cli.name-hip"), say("cli.no-hip"))
	case *out == "":
		return c.fail(say("cli.name-out-dir"), say("cli.nowhere"))
	}
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	r, err := c.recordOf(ctx, st, *hip)
	if err != nil {
		return err
	}
	opt := batch.ResultOptions{Out: *out, Version: c.Version, Now: c.Now(), Save: saveNew}
	if opt.Reader, err = readingsOf(ctx, st, *whose); err != nil {
		return err
	}
	if err := c.readOf(r, *whose, opt.Reader); err != nil {
		return err
	}
	if err := c.discloses(ctx, st, c.films[0], *by, study.Disclosure{Kind: study.ForArchive, HipID: r.Hip.ID}); err != nil {
		return err
	}
	return c.writeResults(ctx, r, opt)
}

// recordOf returns the record of the hip that is called so.
func (c *call) recordOf(ctx context.Context, st study.Store, called string) (study.Record, error) {
	hips, err := st.Hips(ctx)
	if err != nil {
		return study.Record{}, err
	}
	var found []study.Hip
	for _, h := range hips {
		if h.ID == called {
			return st.Record(ctx, h.ID)
		}
		if h.Label() == called {
			found = append(found, h)
		}
	}
	switch len(found) {
	case 0:
		return study.Record{}, c.fail(say("cli.list-names-hips"), say("cli.no-such-hip", "Hip", called, "Study", study.NameOf(c.films[0])))
	case 1:
		return st.Record(ctx, found[0].ID)
	}
	return study.Record{}, c.fail(say("cli.by-code"), say("cli.hips-called", "N", len(found), "Hip", called))
}

// writeResults writes what there is of a hip and prints what became of its films.
func (c *call) writeResults(ctx context.Context, r study.Record, opt batch.ResultOptions) error {
	if err := batch.MakeResultsOut(opt.Out, r); err != nil {
		return c.fail(say("cli.choose-folder"), study.Told(err))
	}
	show, clear := c.progress(say("cli.writes-results"))
	films, err := batch.Results(ctx, r, opt, show)
	clear()
	if err != nil {
		return err
	}
	if err := report.Written(c.Stdout, c.form, films); err != nil {
		return err
	}
	there := false // something of the hip is in the folder
	for _, f := range films {
		if !f.Fault.IsZero() {
			return errPartly
		}
		there = there || len(f.Files) > 0 || f.There
	}
	if !there {
		return errors.New(say("results.none", "Command", c.name))
	}
	return nil
}

func saveNew(path string, write func(io.Writer) error) error {
	return report.SaveFile(path, report.KeepOld, write)
}
