package study

import (
	"strings"

	"gonum.org/v1/gonum/stat"

	"linerwatch/wearfit"
	lmm "linerwatch/wearfit/mixed"
)

// Groups compares the rates of groups by each hip's own line: the mean rate of each,
// and their difference by Welch's t test and the Mann-Whitney test, with three groups or
// more by Welch's analysis of variance and the Kruskal-Wallis test. A group of one hip
// has no scatter to be judged by: the tests of means go without it.
func Groups(rows []CohortRow, o CohortOptions) ([]Quantity, error) {
	c, err := newCohort(rows, o)
	if err != nil {
		return nil, err
	}
	if len(c.groups) < 2 {
		return nil, NewError("cohort.one-group", nil)
	}
	r, err := lmm.EachRate(c.data, len(c.groups), func(hip string) int { return c.hips[hip].group })
	if err != nil {
		return nil, err
	}
	var out []Quantity
	for g, slopes := range r.Slopes {
		out = append(out, ownRates(c.groups[g], slopes)...)
	}
	out = append(out, c.compareMeans(r.Slopes)...)
	out = append(out, c.compareRanks(r.Slopes)...)
	out = append(out, counted("", ownLines, "films before the start, not in the lines", c.early))
	for _, h := range r.Left {
		out = append(out, missing(h, ownLines, "rate", unitRate, NewError("cohort.few-films", nil)))
	}
	return out, nil
}

const ownLines = "each hip's own line"

// ownRates are mean and scatter of a group's rates. The mean is biased where films stop
// because penetration is high; see lmm.EachRate.
func ownRates(group string, slopes []float64) []Quantity {
	mean := Quantity{Of: group, Model: ownLines, Name: "mean rate", Unit: unitRate}.made(ByOwnLines)
	sd := Quantity{Of: group, Model: ownLines, Name: "SD of rates", Unit: unitRate}
	switch len(slopes) {
	case 0:
		mean, sd = mean.without(Note{Code: "cohort.no-line"}), sd.without(Note{Code: "cohort.no-line"})
	case 1:
		mean.Value = slopes[0]
		sd = sd.without(Note{Code: "cohort.one-hip"})
	default:
		mean.Value, sd.Value = stat.MeanStdDev(slopes, nil)
	}
	return []Quantity{mean, sd, counted(group, ownLines, "hips", len(slopes))}
}

// compareMeans compares the groups of two or more hips.
func (c cohort) compareMeans(slopes [][]float64) []Quantity {
	var groups [][]float64
	var names, alone []string
	for g, s := range slopes {
		if len(s) > 1 {
			groups, names = append(groups, s), append(names, c.groups[g])
			continue
		}
		alone = append(alone, c.groups[g])
	}
	var note Note
	if len(alone) > 0 {
		note = Note{Code: "cohort.alone", Values: Values{"Groups": strings.Join(alone, ", ")}}
	}
	switch len(groups) {
	case 0, 1:
		return []Quantity{Quantity{Model: "Welch test", Name: "rates differ between groups"}.without(note)}
	case 2:
		name := "rate, " + names[0] + " less " + names[1]
		w, err := wearfit.CompareMeans(groups[0], groups[1])
		if err != nil {
			return []Quantity{missing("", "Welch t test", name, unitRate, err)}
		}
		q := estimated("", "Welch t test", name, unitRate, w.Difference).made(ByWelch)
		q.Note = note
		return []Quantity{q}
	}
	w, err := wearfit.CompareAllMeans(groups)
	if err != nil {
		return []Quantity{missing("", "Welch analysis of variance", "rates differ between groups", "", err)}
	}
	return []Quantity{{Model: "Welch analysis of variance", Name: "rates differ between groups", Value: w.F, DF: w.DF2, P: w.P, HasP: true,
		Note: listed([]Note{{Code: "cohort.df", Values: Values{"First": w.DF1, "Second": w.DF2}}, note}), By: ByWelch}}
}

// compareRanks compares all groups that have a hip.
func (c cohort) compareRanks(slopes [][]float64) []Quantity {
	var groups [][]float64
	var names []string
	for g, s := range slopes {
		if len(s) > 0 {
			groups, names = append(groups, s), append(names, c.groups[g])
		}
	}
	if len(groups) == 2 {
		name := "share of pairs in which " + names[0] + " is higher"
		r, err := wearfit.CompareRanks(groups[0], groups[1])
		if err != nil {
			return []Quantity{missing("", "Mann-Whitney test", name, "", err)}
		}
		return []Quantity{{Model: "Mann-Whitney test", Name: name, Value: r.Share, P: r.P, HasP: true, By: ByRanks}}
	}
	r, err := wearfit.CompareAllRanks(groups)
	if err != nil {
		return []Quantity{missing("", "Kruskal-Wallis test", "rates differ between groups", "", err)}
	}
	return []Quantity{{Model: "Kruskal-Wallis test", Name: "rates differ between groups", Value: r.H, DF: float64(r.DF), P: r.P, HasP: true, By: ByRanks}}
}
