package cli

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/report/figure"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

var trendCommand = command{
	name:  "trend",
	usage: "--head-mm 28 --side right|left --surgery 2004-05-03 [FLAGS...] FILM...",
	about: "command.trend",
	run:   runTrend,
}

func runTrend(ctx context.Context, c *call) error {
	m := c.measureFlags()
	surgery := c.date("surgery")
	liner := c.length("liner-mm", study.MinLinerMM, study.MaxLinerMM)
	start := c.years("start-years", 1)
	baseline := c.flags.String("baseline", "", "")
	align := c.flags.Bool("align", false, "")
	drawing := c.flags.String("figure", "", "")
	c.replaces()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	opt, err := c.options(m)
	switch {
	case err != nil:
		return err
	case opt.Side == study.SideUnknown:
		return c.fail(say("cli.give-side"), say("cli.no-side"))
	case surgery.IsZero():
		return c.fail(say("cli.give-surgery"), say("cli.no-surgery"))
	}
	hip := study.Hip{
		Side: opt.Side, Surgery: *surgery, StartYears: *start, Baseline: *baseline, BeamOff: opt.BeamOff,
		Implant: study.Implant{HeadMM: opt.HeadMM, LinerMM: *liner},
	}
	if err := hip.Validate(c.Now()); err != nil {
		return c.fail("", study.Told(err))
	}
	if err := c.mayDraw(*drawing, c.films); err != nil {
		return err
	}
	ms, err := c.measure(ctx, opt)
	if err != nil {
		return err
	}
	if *align {
		if ms, err = c.align(ctx, hip, ms); err != nil {
			return err
		}
	}
	return c.writeTrend(hip, ms, *drawing)
}

// align turns the films by their pelvis. Where that cannot be, the films stay as
// they are, and a note says so.
func (c *call) align(ctx context.Context, hip study.Hip, ms []study.Measurement) ([]study.Measurement, error) {
	show, clear := c.progress(say("cli.aligns"))
	defer clear()
	out, err := batch.AlignFilms(ctx, hip, ms, show)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, fmt.Errorf("trend: --align: %s", study.Told(err))
	}
	return out, nil
}

// writeTrend fits and prints. Where the films do not make a series, they are
// printed without one, and the reason is the error.
func (c *call) writeTrend(hip study.Hip, ms []study.Measurement, to string) error {
	t, refused := study.NewTrend(hip, ms)
	if err := report.Trend(c.Stdout, c.form, t); err != nil {
		return err
	}
	if refused != nil {
		return fmt.Errorf("trend: %s", study.Told(refused))
	}
	if to != "" {
		var films []string
		for _, m := range ms {
			films = append(films, m.Film.Path)
		}
		if err := c.mayDraw(to, films); err != nil {
			return err
		}
		if err := report.SaveFile(to, c.over, figureOf(to, c.spoken(), c.Now(), t)); err != nil {
			return fmt.Errorf("trend: %w", err)
		}
	}
	return judge(ms)
}

// mayDraw refuses a figure in the place of a film, or of another file.
func (c *call) mayDraw(to string, films []string) error {
	if to == "" {
		return nil
	}
	return c.target("figure", to, films)
}

// figureOf draws trends as wide as a page, as its name ends.
func figureOf(name string, speech texts.Speech, now time.Time, trends ...study.Trend) func(io.Writer) error {
	return func(w io.Writer) error {
		f, err := figure.Draw("trend", figure.Input{Trends: trends, Speech: speech}, figure.Double)
		if err != nil {
			return err
		}
		format := figure.Format(strings.ToLower(strings.TrimPrefix(filepath.Ext(name), ".")))
		if !slices.Contains(figure.Formats(), format) {
			format = figure.PNG
		}
		return f.Write(w, format, figure.LowDPI, now)
	}
}
