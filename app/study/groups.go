package study

import (
	"errors"
	"fmt"
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
		return nil, errors.New("two or more groups are needed for a comparison, the table has one")
	}
	r, err := lmm.EachRate(c.data, len(c.groups), func(hip string) int { return c.hips[hip].group })
	if err != nil {
		return nil, errors.New(Plain(err))
	}
	var out []Quantity
	for g, slopes := range r.Slopes {
		out = append(out, ownRates(c.groups[g], slopes)...)
	}
	out = append(out, c.compareMeans(r.Slopes)...)
	out = append(out, c.compareRanks(r.Slopes)...)
	out = append(out, counted("", ownLines, "films before the start, not in the lines", c.early))
	for _, h := range r.Left {
		out = append(out, missing(h, ownLines, "rate", unitRate, errors.New("too few films for a line of its own; not compared")))
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
		mean, sd = mean.without("no hip of the group has a line of its own"), sd.without("no hip of the group has a line of its own")
	case 1:
		mean.Value = slopes[0]
		sd = sd.without("one hip does not tell it")
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
	note := ""
	if len(alone) > 0 {
		note = "without " + strings.Join(alone, ", ") + ": fewer than two hips"
	}
	switch len(groups) {
	case 0, 1:
		return []Quantity{missing("", "Welch test", "rates differ between groups", "", errors.New(note))}
	case 2:
		name := "rate, " + names[0] + " less " + names[1]
		w, err := wearfit.CompareMeans(groups[0], groups[1])
		if err != nil {
			return []Quantity{missing("", "Welch t test", name, unitRate, err)}
		}
		return []Quantity{estimated("", "Welch t test", name, unitRate, w.Difference).noted(note).made(ByWelch)}
	}
	w, err := wearfit.CompareAllMeans(groups)
	if err != nil {
		return []Quantity{missing("", "Welch analysis of variance", "rates differ between groups", "", err)}
	}
	return []Quantity{Quantity{Model: "Welch analysis of variance", Name: "rates differ between groups", Value: w.F, DF: w.DF2, P: w.P, HasP: true,
		Note: fmt.Sprintf("F with %g and %.1f degrees of freedom", w.DF1, w.DF2)}.noted(note).made(ByWelch)}
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
