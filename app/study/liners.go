package study

import (
	"fmt"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// LinerRow is one liner: how long it was observed and what ended that.
type LinerRow struct {
	Hip, Group string
	Years      float64
	Event      int // 0 in place, 1 revised, 2 and above what competes, such as a death
}

// MaxEvent is the highest code of an event.
const MaxEvent = 9

// LinerYears are the times at which curves of liners are told where none are
// asked for; common practice, no source.
func LinerYears() []float64 { return []float64{1, 2, 5, 10, 15, 20} }

// Liners follows liners to their revision: for the whole table, or each group, the
// share not revised at the given years by Kaplan and Meier with Greenwood's
// standard error and log-log intervals, the liners at risk then, and, where other
// events compete, the share revised and the share of each other event by Aalen and
// Johansen; between groups the log-rank test. Years after the last liner was seen
// are left out.
func Liners(rows []LinerRow, years []float64) ([]Quantity, error) {
	groups := map[string][]wearfit.Observed{}
	var names []string
	seen := map[string]bool{}
	for _, r := range rows {
		if seen[r.Hip] {
			return nil, NewError("liners.twice", texts.Values{"Hip": r.Hip})
		}
		seen[r.Hip] = true
		if groups[r.Group] == nil {
			names = append(names, r.Group)
		}
		groups[r.Group] = append(groups[r.Group], wearfit.Observed{Years: r.Years, Event: r.Event})
	}
	slices.Sort(names)
	var out []Quantity
	var all [][]wearfit.Observed
	for _, n := range names {
		q, err := liners(n, groups[n], years)
		if err != nil {
			return nil, err
		}
		out = append(out, q...)
		all = append(all, groups[n])
	}
	if len(all) < 2 {
		return out, nil
	}
	const name = "log-rank test"
	l, err := wearfit.CompareSurvival(all...)
	if err != nil {
		return append(out, Quantity{Model: name, Name: "revised alike"}.without(Note{Code: "liners.none-revised"})), nil
	}
	out = append(out, Quantity{Model: name, Name: "revised alike", Value: l.ChiSquare, DF: float64(l.DF), P: l.P, HasP: true, Note: Note{Code: "liners.chi-square"}})
	for i, n := range names {
		out = append(out, Quantity{Of: n, Model: name, Name: "revisions expected", Value: l.Expected[i]})
	}
	return out, nil
}

func liners(of string, obs []wearfit.Observed, years []float64) ([]Quantity, error) {
	const name = "Kaplan-Meier"
	c, err := wearfit.KaplanMeier(obs)
	if err != nil {
		return nil, err
	}
	out := []Quantity{counted(of, name, "liners", c.N), counted(of, name, "revised", c.Events)}
	var last float64
	other := 0
	for _, o := range obs {
		last = max(last, o.Years)
		other = max(other, o.Event)
	}
	var told []float64
	for _, y := range years {
		if y > last {
			continue
		}
		told = append(told, y)
		s := c.At(y)
		q := Quantity{Of: of, Model: name, Name: "not revised by year " + digits(y), Value: s.Survival, SE: s.SE}
		out = append(out, q.within(s.Interval(level)), counted(of, name, "at risk at year "+digits(y), s.AtRisk))
	}
	if y, ok := c.Quantile(0.5); ok {
		out = append(out, Quantity{Of: of, Model: name, Name: "half revised by", Unit: unitYear, Value: y})
	}
	if other < 2 {
		return out, nil
	}
	inc, err := wearfit.CumulativeIncidence(obs, told)
	if err != nil {
		return nil, err
	}
	for _, i := range inc {
		for k, share := range i.Share {
			what := "revised"
			if k > 0 {
				what = fmt.Sprintf("event %d first", k+1)
			}
			out = append(out, Quantity{Of: of, Model: "Aalen-Johansen", Name: what + " by year " + digits(i.Years), Value: share, SE: i.SE[k]})
		}
	}
	return out, nil
}
