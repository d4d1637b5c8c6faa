package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/findings"
	"linerwatch/app/report/figure"
	"linerwatch/app/study"
)

// wholeFlags are those of what is told of a whole study.
type wholeFlags struct {
	out, readings *string
	options       findings.Options
	demo          bool       // the study's films and codes are invented
	altered       study.Note // that the study was changed outside the program
}

func (c *call) wholeFlags() *wholeFlags {
	w := &wholeFlags{out: c.flags.String("out", "", ""), readings: c.flags.String("readings-of", "", "")}
	c.flags.Func("by", "", func(word string) error {
		by, ok := findings.ParseBy(word)
		if !ok {
			return errors.New(say("cli.it-is", "Names", groupingWords()))
		}
		w.options.By = by
		return nil
	})
	c.speech(&w.options.Speech)
	c.replaces()
	return w
}

func groupingWords() string {
	var words []string
	for _, by := range findings.Groupings() {
		words = append(words, string(by))
	}
	return either(words)
}

// endingOf returns the ending of the file to write, which has to be one of some.
func (c *call) endingOf(out string, endings ...string) (string, error) {
	files := []string{}
	for _, e := range endings {
		files = append(files, "FILE."+e)
	}
	ending := strings.ToLower(strings.TrimPrefix(filepath.Ext(out), "."))
	switch {
	case out == "":
		return "", c.fail(say("report.name-file", "Ending", endings[0]), say("cli.nowhere"))
	case !slices.Contains(endings, ending):
		return "", c.fail(say("report.name-as", "Names", either(files)), say("report.written-as", "Path", out, "Endings", strings.Join(endings, ", ")))
	case sameFile(out, c.films[len(c.films)-1]):
		return "", c.fail(say("cli.choose-name"), say("cli.over-study"))
	}
	return ending, c.target("out", out, nil)
}

// tell computes what a study tells, to be disclosed as kind.
func (c *call) tell(ctx context.Context, path string, w *wholeFlags, kind study.DisclosureKind) (told findings.Findings, err error) {
	st, err := c.lookStudy(ctx, path)
	if err != nil {
		return told, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	if w.options.Whose, err = readingsOf(ctx, st, *w.readings); err != nil {
		return told, err
	}
	if w.options.Lists, err = st.Lists(ctx); err != nil {
		return told, err
	}
	g := findings.New(w.options)
	err = st.Records(ctx, func(r study.Record) error {
		g.Add(r)
		return nil
	})
	if err == nil {
		err = w.isDemo(ctx, st)
	}
	if err == nil {
		err = st.Check(ctx) // of a damaged file nothing is told
	}
	if err == nil {
		w.altered, err = c.altered(ctx, st)
	}
	if err != nil {
		return told, err
	}
	waiting, err := st.Unsorted(ctx)
	if err != nil {
		return told, err
	}
	for _, f := range waiting {
		g.Wait(f)
	}
	if who := study.ReaderOf(w.options.Whose); *w.readings != "" && who != "" && !g.Has(who) {
		return told, c.fail(say("cli.reader-of-study"), say("cli.reader-not-study", "Reader", who, "Study", study.NameOf(path)))
	}
	return g.Tell(), c.discloses(ctx, st, path, coordinator, study.Disclosure{Kind: kind})
}

func reportFigure(ctx context.Context, c *call) error {
	w := c.wholeFlags()
	hip := c.flags.String("hip", "", "")
	dpi, column := figure.LowDPI, figure.Single
	c.flags.Func("dpi", "", func(s string) error {
		switch s {
		case "300":
			dpi = figure.LowDPI
		case "600":
			dpi = figure.HighDPI
		default:
			return errors.New(say("figure.dpi"))
		}
		return nil
	})
	c.flags.Func("width", "", func(s string) error {
		if column = figure.Column(s); column != figure.Single && column != figure.Double {
			return errors.New(say("figure.widths"))
		}
		return nil
	})
	if err := c.parse(); err != nil {
		return err
	}
	names := strings.Join(figure.Names(), ", ")
	switch {
	case len(c.films) != 2:
		return c.fail("linerwatch report figure NAME FILE"+study.FileExt+" --out FILE.svg", say("figure.name-one", "Names", names))
	case !slices.Contains(figure.Names(), c.films[0]):
		return c.fail(say("figure.they-are", "Names", names), say("figure.none-such", "Name", c.films[0]))
	case figure.OfHip(c.films[0]) && *hip == "":
		return c.fail(say("cli.name-hip"), say("cli.no-hip"))
	case !figure.OfHip(c.films[0]) && *hip != "":
		return c.fail(say("cli.leave-it"), say("figure.no-hip", "Name", c.films[0]))
	}
	format, err := c.endingOf(*w.out, string(figure.SVG), string(figure.PDF), string(figure.PNG))
	if err != nil {
		return err
	}
	name := c.films[0]
	in, err := c.inputOf(ctx, name, c.films[1], *hip, w)
	if err != nil {
		return err
	}
	f, err := figure.Draw(name, in, column)
	if err != nil {
		return errors.New(say("figure.refused", "Command", c.name, "Why", study.Told(err)))
	}
	if err := c.save(*w.out, func(out io.Writer) error { return f.Write(out, figure.Format(format), dpi, c.Now()) }); err != nil {
		return err
	}
	_, err = fmt.Fprintln(c.Stdout, f.Caption)
	return err
}

// inputOf takes of a study what a figure is drawn of.
func (c *call) inputOf(ctx context.Context, name, path, hip string, w *wholeFlags) (in figure.Input, err error) {
	w.options.Model, w.options.Checks = figure.NeedsModel(name), figure.NeedsChecks(name)
	in.Speech = w.options.Speech
	if !figure.OfHip(name) {
		in.Findings, err = c.tell(ctx, path, w, study.DrawnFigure)
		return in, err
	}
	c.films = []string{path}
	st, err := c.lookStudy(ctx, path)
	if err != nil {
		return in, err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	r, reader, err := c.recordFor(ctx, st, &sheet{hip: &hip, out: w.out, readings: w.readings})
	if err != nil {
		return in, err
	}
	t, err := r.Trend(reader)
	in.Trends = []study.Trend{t}
	if err != nil {
		return in, errors.New(say("figure.refused", "Command", c.name, "Why", study.Told(err)))
	}
	return in, c.discloses(ctx, st, path, coordinator, study.Disclosure{Kind: study.DrawnFigure, HipID: r.Hip.ID})
}
