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
	want := say("plan.range")
	f.sd, f.between = c.number("sd-mm", want, 0.0001, 10), c.number("between-sd", want, 0.0001, 10)
	f.difference = c.number("difference", want, 0.0001, 10)
	f.power = c.number("power", say("plan.power-range"), 0.5, 0.999)
	f.lost = c.number("lost-percent", say("plan.lost-range"), 0, 50)
	f.ratio = c.number("ratio", say("plan.ratio-range"), 0.1, 10)
	f.runs = c.number("studies", say("plan.runs-range"), 100, 100_000)
}

// plan tells what a planned study can show.
func (c *call) plan(f *fitFlags) error {
	if len(c.films) > 0 {
		return c.fail(say("plan.leave-table"), say("plan.no-table"))
	}
	if len(*f.filmYears) < 2 || *f.sd == 0 {
		return c.fail(say("plan.give-films"), say("plan.needs-films"))
	}
	simulated := *f.runs > 0 || *f.lost > 0 || *f.ratio > 0 || *f.mixed
	if simulated && *f.difference == 0 {
		return c.fail(say("plan.give-difference"), say("plan.two-groups"))
	}
	p := study.Schedule{Times: *f.filmYears, SD: *f.sd, BetweenSD: *f.between, Difference: *f.difference,
		Power: cmp.Or(*f.power, 0.8), Lost: *f.lost / 100, Ratio: cmp.Or(*f.ratio, 1), Mixed: *f.mixed}
	if simulated {
		p.Runs = int(cmp.Or(*f.runs, 2000))
	}
	list, err := study.Plan(p)
	if err != nil {
		return c.fail("", "--plan: "+study.Told(err))
	}
	return report.Quantities(c.Stdout, c.form, list)
}
