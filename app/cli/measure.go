package cli

import (
	"context"
	"errors"
	"fmt"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var measureCommand = command{
	name:  "measure",
	usage: "--head-mm 28 [--side right|left] [--format table|json|csv] FILM...",
	about: "find head and cup on films and read the offset between them",
	help: `
A FILM is a file or a folder. Nobody looks at the outlines: open the films in the
window to check them.

  --head-mm MM       diameter of the head, which gives the scale (22 to 44)
  --side SIDE        right or left; without it every replaced hip on a film` + measureHelp + `
  --format F         table, json or csv

Thinnest and widest are the paths from the head to the cup's outline; uniradiograph is
half of their difference (Charnley & Cupic 1973). Eccentricity is the offset over the
difference of the radii; the beam shift is what the correction for off-axis projection
has changed.`,
	run: runMeasure,
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
	show, clear := c.progress("measuring films:")
	defer clear()
	ms, err := batch.Measure(ctx, c.films, opt, show)
	var unknown *batch.GivenError
	if errors.As(err, &unknown) {
		return nil, c.fail("", "%s", study.Told(unknown))
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
		complain(c.Env, fmt.Errorf("%s: nothing was outlined on %d of %d films; a head of %g mm was looked for: is that its diameter?", c.name, n, len(ms), headMM))
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
