package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var studyCommand = command{
	name:  "study",
	usage: "FILE.linerwatch [--readings-of READER] [--export DIR] [--replace] [--format table|json|csv]",
	about: "list the hips of a study file, and write its tables for analysis elsewhere",
	help: `
One line per hip: films that are read, left out and not read yet, who read, the
steady-state rate with its 95 % interval, or why there is none, and what is missing.

  --readings-of CODE  whose readings count: a reader's code, or latest for the latest
                      reading of each film; without it, what the study file says
  --export DIR        write hips.csv, films.csv, readings.csv, fits.csv and codebook.csv:
                      every hip, film, reading and fit, and what each column means;
                      films that nobody has read, found nothing on or put to a hip
                      are rows, too
  --replace           write over tables that exist
  --format F          table, json or csv`,
	run: runStudy,
}

// latest stands for the latest reading of each film.
const latest = "latest"

func runStudy(ctx context.Context, c *call) (err error) {
	whose := c.flags.String("readings-of", "", "")
	dir := c.flags.String("export", "", "")
	c.replaces()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 1 {
		return c.fail("linerwatch study FILE"+study.FileExt, "name one study file")
	}
	if *dir != "" {
		for _, table := range report.ExportTables() {
			if err := c.target("export", filepath.Join(*dir, table+".csv"), c.films); err != nil {
				return err
			}
		}
	}
	st, err := batch.OpenExisting(c.films[0], c.Studies)
	if err != nil {
		return fmt.Errorf("study: %s", study.Plain(err))
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	reader := *whose
	if reader == "" {
		if reader, err = batch.CountsOf(ctx, st); err != nil {
			return err
		}
	} else if reader == latest {
		reader = study.Anyone
	}
	var rows []study.Summary
	out := &report.Export{Whose: reader, Lacks: batch.Lacks}
	known := reader == study.Anyone
	err = st.Records(ctx, func(r study.Record) error {
		s := r.Summary(reader)
		rows = append(rows, s)
		for _, who := range s.Readers {
			known = known || who == reader
		}
		if *dir != "" {
			out.Add(r)
		}
		return nil
	})
	if err == nil {
		err = st.Check(ctx) // of a damaged file nothing is told
	}
	switch {
	case err != nil:
		return err
	case !known && *whose != "":
		return c.fail("leave --readings-of out, or name a reader of the study", "no reading by %q in %s", reader, filepath.Base(c.films[0]))
	}
	if *dir != "" {
		waiting, err := st.Unsorted(ctx)
		if err != nil {
			return err
		}
		for _, f := range waiting {
			out.Wait(f)
		}
		if err := c.export(*dir, out); err != nil {
			return err
		}
	}
	return report.Hips(c.Stdout, c.form, rows, reader)
}

// export writes the tables into dir.
func (c *call) export(dir string, e *report.Export) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("study: %w", err)
	}
	for _, table := range report.ExportTables() {
		err := report.SaveFile(filepath.Join(dir, table+".csv"), c.over, func(w io.Writer) error { return e.Write(w, table) })
		if err != nil {
			return fmt.Errorf("study: %w", err)
		}
	}
	for _, code := range e.Names() {
		if _, err := fmt.Fprintf(c.Stderr, "linerwatch: study: %q may be a name: look at it before the tables leave the house\n", code); err != nil {
			return err
		}
	}
	return nil
}
