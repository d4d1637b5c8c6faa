package cli

import (
	"context"
	"errors"

	"linerwatch/app/report"
	"linerwatch/app/session"
	"linerwatch/app/study"
)

var measureCommand = command{
	name:  "measure",
	usage: "--head-mm 28 [--side right|left] [--format table|json|csv] FILM...",
	about: "find head and cup on films and read the offset between them",
	help: `
A FILM is a file or a folder. Nobody looks at the outlines: open the films in the
window to check them.

  --head-mm MM   diameter of the head, which gives the scale (22 to 44)
  --side SIDE    right or left; without it every replaced hip on a film
  --line F:X1,Y1,X2,Y2   reference line of the film F, such as that through the
                 teardrops: superior is at right angles to it (pixels; repeatable)
  --rim F:X1,Y1,X2,Y2    ends of the cup's rim on the film F, in place of what is found
                 on it: tells the inclination, not the version (pixels; repeatable)
  --lateral F:HEAD,FRONT[,DEG]  the film F is a cross-table lateral one, with the
                 patient's head end and front at these edges (left, right, up, down),
                 the beam angled towards the head by DEG (repeatable)
  --source-mm MM         distance from source to detector of all films, in place of
                 what their files say (500 to 4000)
  --beam-center F:X,Y    where the central ray met the film F, in place of its middle
                 (pixels; repeatable)
  --beam-off     leave the readings uncorrected for off-axis projection
  --format F     table, json or csv`,
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
func (c *call) measure(ctx context.Context, opt session.MeasureOptions) ([]study.Measurement, error) {
	show, clear := c.progress("measuring films:")
	defer clear()
	ms, err := session.Measure(ctx, c.films, opt, show)
	var unknown *session.GivenError
	if errors.As(err, &unknown) {
		return nil, c.fail("", "%s %s", unknown.Film, unknown.Reason)
	}
	return ms, err
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
