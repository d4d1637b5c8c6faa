package study

import (
	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed" // the name mixed is taken here
)

// Schedule is a study that is planned.
type Schedule struct {
	Times      []float64 // years of the films
	SD         float64   // of one reading, mm
	BetweenSD  float64   // of the true rates between hips, mm/year
	Difference float64   // of the mean rates of two groups that shall be found, mm/year; 0 for one hip alone
	Power      float64
	Lost       float64 // share of the hips that is lost each year
	Ratio      float64 // hips of the second group for each of the first
	Mixed      bool    // analysed by the mixed model, else by each hip's own rate
	Runs       int     // simulated studies; 0 for formulas alone
}

// Plan tells what a schedule of films can show: the least rate of one hip that
// differs from zero and, where a difference of rates between two groups is asked
// for, the hips that each group needs: by formula, and as simulated where runs are.
func Plan(p Schedule) ([]Quantity, error) {
	const name = "plan"
	tr := lmm.Trial{Lost: p.Lost, Mixed: p.Mixed, Runs: p.Runs, Seed: 1,
		Plan: wearfit.Plan{Times: p.Times, SD: p.SD, BetweenSD: p.BetweenSD, Difference: p.Difference, Level: level, Power: p.Power}}
	least, err := wearfit.MinimumRate(p.Times, p.SD, level, p.Power)
	if err != nil {
		return nil, err
	}
	sd, err := tr.RateSD()
	if err != nil {
		return nil, err
	}
	power := digits(100*p.Power) + " % power"
	note := Note{Code: "plan.student"}
	if len(p.Times) == 2 {
		note.Code = "plan.two-films"
	}
	out := []Quantity{
		{Model: name, Name: "least rate of one hip told from 0 with " + power, Unit: unitRate, Value: least, Note: note},
		{Model: name, Name: "SD of rates as measured", Unit: unitRate, Value: sd},
	}
	if p.Difference == 0 {
		return out, nil
	}
	n, err := tr.PerGroup()
	if err != nil {
		return nil, err
	}
	need := counted("", name, "hips in each group for "+digits(p.Difference)+" mm/year with "+power, n)
	need.Note = Note{Code: "plan.own-rates"}
	out = append(out, need)
	if p.Runs == 0 {
		return out, nil
	}
	j, err := tr.Size(p.Ratio)
	if err != nil {
		return nil, err
	}
	how := "simulated, Welch's test of each hip's own rate"
	if p.Mixed {
		how = "simulated, mixed model"
	}
	reached := Quantity{Model: how, Name: "power reached", Value: j.Power, SE: j.SE,
		Note: Note{Code: "plan.studies", Values: Values{"N": float64(p.Runs), "Failed": float64(j.Failed)}}}
	return append(out, counted("", how, "hips in the first group", j.Hips[0]), counted("", how, "hips in the second group", j.Hips[1]), reached), nil
}
