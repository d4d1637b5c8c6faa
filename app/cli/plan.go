package cli

import (
	"cmp"

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
	f.lost = c.number("lost-percent", "it is a percentage from 0 to 50", 0, 50)
	f.ratio = c.number("ratio", "it is a number from 0.1 to 10", 0.1, 10)
	f.runs = c.number("studies", "it is a number from 100 to 100000", 100, 100_000)
}

// plan tells what a planned study can show.
func (c *call) plan(f *fitFlags) error {
	if len(c.films) > 0 {
		return c.fail("leave the table out", "--plan takes no table")
	}
	if len(*f.filmYears) < 2 || *f.sd == 0 {
		return c.fail("give --film-years 1,2,5 and --sd-mm 0.1", "--plan needs two or more films and the SD of a reading")
	}
	simulated := *f.runs > 0 || *f.lost > 0 || *f.ratio > 0 || *f.mixed
	if simulated && *f.difference == 0 {
		return c.fail("give --difference R", "--lost-percent, --ratio, --studies and --mixed ask for the hips of two groups")
	}
	p := study.Schedule{Times: *f.filmYears, SD: *f.sd, BetweenSD: *f.between, Difference: *f.difference,
		Power: cmp.Or(*f.power, 0.8), Lost: *f.lost / 100, Ratio: cmp.Or(*f.ratio, 1), Mixed: *f.mixed}
	if simulated {
		p.Runs = int(cmp.Or(*f.runs, 2000))
	}
	list, err := study.Plan(p)
	if err != nil {
		return c.fail("", "--plan: %s", study.Told(err))
	}
	return report.Quantities(c.Stdout, c.form, list)
}
