package study

import (
	"linerwatch/wearfit"
)

// Schedule is a planned study: see wearfit.Plan. A Level of 0 is 0.95.
type Schedule = wearfit.Plan

// Plan tells what a schedule of films can show: the least rate of one hip that
// differs from zero and, where a difference of rates between two groups is asked
// for, the hips that each group needs.
func Plan(p Schedule) ([]Quantity, error) {
	const name = "plan"
	if p.Level == 0 {
		p.Level = level
	}
	least, err := wearfit.MinimumRate(p.Times, p.SD, p.Level, p.Power)
	if err != nil {
		return nil, err
	}
	sd, err := p.RateSD()
	if err != nil {
		return nil, err
	}
	power := digits(100*p.Power) + " % power"
	out := []Quantity{
		{Model: name, Name: "least rate of one hip told from 0 with " + power, Unit: unitRate, Value: least},
		{Model: name, Name: "SD of rates as measured", Unit: unitRate, Value: sd},
	}
	if p.Difference == 0 {
		return out, nil
	}
	n, err := p.PerGroup()
	if err != nil {
		return nil, err
	}
	return append(out, counted("", name, "hips in each group for "+digits(p.Difference)+" mm/year with "+power, n)), nil
}
