package cli

import (
	"linerwatch/app/report"
	"linerwatch/app/study"
)

// planFlags declares the flags of a study to be planned.
func (c *call) planFlags(f *fitFlags) {
	f.plan = c.flags.Bool("plan", false, "")
	f.filmYears = c.yearList("film-years")
	const want = "it is a number from 0.0001 to 10"
	f.sd, f.between = c.number("sd-mm", want, 0.0001, 10), c.number("between-sd", want, 0.0001, 10)
	f.difference = c.number("difference", want, 0.0001, 10)
	f.power = c.number("power", "it is a number from 0.5 to 0.999", 0.5, 0.999)
}

// plan tells what a planned study can show.
func (c *call) plan(f *fitFlags) error {
	if len(c.films) > 0 {
		return c.fail("leave the table out", "--plan takes no table")
	}
	if len(*f.filmYears) < 2 || *f.sd == 0 {
		return c.fail("give --film-years 1,2,5 and --sd-mm 0.1", "--plan needs two or more films and the SD of a reading")
	}
	p := study.Schedule{Times: *f.filmYears, SD: *f.sd, BetweenSD: *f.between, Difference: *f.difference, Power: *f.power}
	if p.Power == 0 {
		p.Power = 0.8
	}
	list, err := study.Plan(p)
	if err != nil {
		return c.fail("", "--plan: %s", study.Told(err))
	}
	return report.Quantities(c.Stdout, c.form, list)
}
