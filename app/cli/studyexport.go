package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/report/dataset"
	"linerwatch/app/study"
)

// runExport writes a study as a data package.
func runExport(ctx context.Context, c *call) (err error) {
	c.name = "study export"
	whose, dir, key := c.flags.String("readings-of", "", ""), c.flags.String("out", "", ""), c.flags.String("key-file", "", "")
	deidentified := c.flags.Bool("deidentify", false, "")
	date, by := c.date("date"), c.by()
	at := c.then("at")
	c.replaces()
	if err := c.parse(); err != nil {
		return err
	}
	switch {
	case len(c.films) != 1:
		return c.fail("linerwatch study export FILE"+study.FileExt+" --out DIR", say("cli.name-study"))
	case *dir == "":
		return c.fail(say("cli.name-the-folder"), say("cli.no-folder"))
	case *key != "" && !*deidentified:
		return c.fail(say("cli.add-deidentify"), say("cli.key-for-codes"))
	}
	if err := report.MayReplace(*dir, c.over, dataset.Files()); err != nil { // before the study is opened
		return c.exportFault(err)
	}
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }() // what it is then
	o := dataset.Options{Named: *whose != "", Name: studyName(c.films[0]), Version: c.Version, Date: *date, Lacks: batch.Lacks, Deidentified: *deidentified}
	if o.Altered, err = c.altered(ctx, st); err != nil {
		return fmt.Errorf("study export: %w", err)
	}
	open, err := openLists(ctx, st)
	if err != nil {
		return fmt.Errorf("study export: %w", err)
	}
	if *at != (study.Then{}) {
		if st, err = c.rewound(ctx, st, *at); err != nil {
			return err
		}
	}
	if o.Whose, err = readingsOf(ctx, st, *whose); err != nil {
		return err
	}
	if *key != "" {
		if err := batch.CheckKeyFile(*key, *dir); err != nil {
			return fmt.Errorf("study export: %w", err)
		}
		if o.Key, _, err = batch.DeidentifyKey(*key); err != nil {
			return fmt.Errorf("study export: %w", err)
		}
	}
	told, err := dataset.Save(ctx, st, *dir, c.over, o)
	if errors.Is(err, dataset.ErrNoReader) {
		return c.noReader(study.ReaderOf(o.Whose))
	}
	if err != nil {
		return c.exportFault(err)
	}
	if err := c.disclosesIn(ctx, open, c.films[0], *by, study.Disclosure{Kind: study.WrittenTables}); err != nil {
		return err
	}
	return c.tellExport(*dir, told)
}

func (c *call) exportFault(err error) error {
	var foreign *report.ForeignError
	var there *fs.PathError
	switch {
	case errors.As(err, &there) && errors.Is(err, fs.ErrExist):
		return c.fail(say("cli.folder-or-replace"), say("cli.out-exists", "Path", there.Path))
	case errors.As(err, &foreign):
		return c.fail(say("cli.other-folder"), err.Error())
	}
	return fmt.Errorf("study export: %w", err)
}

// tellExport says what was written, and which codes may be names.
func (c *call) tellExport(dir string, told dataset.Told) error {
	r := told.Rows
	if _, err := fmt.Fprintln(c.Stdout, say("cli.exported", "Dir", dir, "Patients", r["patients"], "Hips", r["hips"], "Films", r["films"]+r["unsorted"], "Readings", r["penetration"])); err != nil {
		return err
	}
	for _, code := range told.Names {
		if _, err := fmt.Fprintf(c.Stderr, "linerwatch: study export: %s\n", say("cli.may-be-name", "Code", code)); err != nil {
			return err
		}
	}
	return nil
}

// studyName is a study's name by its file.
func studyName(path string) string { return strings.TrimSuffix(study.NameOf(path), study.FileExt) }
