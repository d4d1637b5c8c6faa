package cli

import (
	"context"
	"errors"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var measureCommand = command{
	name:  "measure",
	usage: "--head-mm 28 [--side right|left] [--format table|json|csv] FILM...",
	about: "command.measure",
	run:   runMeasure,
}

func runMeasure(ctx context.Context, c *call) error {
	m := c.measureFlags()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	opt, err := c.options(m)
	if err != nil {
		return err
	}
	ms, err := c.measure(ctx, opt)
	if err != nil {
		return err
	}
	if err := report.Measurements(c.Stdout, c.form, ms); err != nil {
		return err
	}
	return judge(ms)
}

// measure measures c's films, showing progress.
func (c *call) measure(ctx context.Context, opt batch.MeasureOptions) ([]study.Measurement, error) {
	c.sort()
	show, clear := c.progress(say("cli.measures"))
	defer clear()
	ms, err := batch.Measure(ctx, c.films, opt, show)
	var unknown *batch.GivenError
	if errors.As(err, &unknown) {
		return nil, c.fail("", study.Told(unknown))
	}
	if err == nil {
		c.askDiameter(ms, opt.HeadMM)
	}
	return ms, err
}

// askDiameter asks for the diameter by which the search knows a head where it found
// nothing on AP films: it is the likeliest slip. On a lateral film one hip may hide the other.
func (c *call) askDiameter(ms []study.Measurement, headMM float64) {
	n := 0
	for _, m := range ms {
		if m.Status == study.Refused && study.NothingFound(m.Reason) && m.Film.View() != study.Lateral {
			n++
		}
	}
	if n > 0 {
		complain(c.Env, errors.New(say("cli.nothing-outlined", "Command", c.name, "N", n, "Of", len(ms), "MM", headMM)))
	}
}

// judge returns errPartly where a film was not measured.
func judge(ms []study.Measurement) error {
	for _, m := range ms {
		if m.Status != study.Measured {
			return errPartly
		}
	}
	return nil
}
