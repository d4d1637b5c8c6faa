package study

import (
	"cmp"
	"fmt"
	"slices"

	"linerwatch/wearfit/survive"
)

// curves are those of each group.
func (c *linerCohort) curves() ([]Quantity, error) {
	var out []Quantity
	for _, name := range c.names {
		liners := c.groups[name]
		km, err := survive.KaplanMeier(liners)
		if err != nil {
			return nil, groupFault(name, err)
		}
		told := c.told(liners)
		out = append(out, survival(name, km, told)...)
		if !c.compete() {
			continue
		}
		inc, err := survive.AalenJohansen(liners, told, slices.Max(c.events))
		if err != nil {
			return nil, groupFault(name, err)
		}
		out = append(out, c.incidence(name, inc, km.Clustered)...)
	}
	return out, nil
}

// told are the years at which something is known of liners.
func (c *linerCohort) told(liners []survive.Liner) []float64 {
	var last float64
	for _, l := range liners {
		last = max(last, l.Years)
	}
	var out []float64
	for _, y := range c.Years {
		if y <= last {
			out = append(out, y)
		}
	}
	return out
}

// survival is the Kaplan-Meier curve at years.
func survival(of string, km survive.Curve, years []float64) []Quantity {
	const name = "Kaplan-Meier"
	out := []Quantity{counted(of, name, "liners", km.N), counted(of, name, "revised", km.Events)}
	if km.Clustered {
		out = append(out, counted(of, name, "patients", km.Patients))
	}
	for _, y := range years {
		s := km.At(y)
		out = append(out, shared(Quantity{Of: of, Model: name, Name: "not revised by year " + digits(y)}, s.Share, km.Clustered),
			counted(of, name, "at risk at year "+digits(y), s.AtRisk))
	}
	if y, ok := km.Quantile(0.5); ok {
		q := Quantity{Of: of, Model: name, Name: "half revised by", Unit: unitYear, Value: y, By: ByMedian}
		q = q.within(km.QuantileInterval(0.5, level))
		if q.Interval.Open() {
			q.Note = Note{Code: "liners.no-end"}
		}
		out = append(out, q)
	}
	return out
}

// fewPatients is the number with which intervals of a cumulative incidence held in 92 % at
// worst; with 60 they held as stated (go run ./wearfit/bench -survival).
const fewPatients = 15

// incidence is the share of each event by year.
func (c *linerCohort) incidence(of string, list []survive.Incidence, clustered bool) []Quantity {
	people := map[string]bool{}
	for i, r := range c.rows {
		if r.Group == of {
			people[cmp.Or(r.Patient, fmt.Sprint(i))] = true
		}
	}
	var out []Quantity
	for _, i := range list {
		for _, e := range c.events {
			what := "revised"
			if e != survive.Revised {
				what = c.event(e) + " first"
			}
			q := shared(Quantity{Of: of, Model: "Aalen-Johansen", Name: what + " by year " + digits(i.Years)}, i.Of[e-1], clustered)
			if len(people) <= fewPatients {
				q.Note = Note{Code: "liners.few-people", Values: Values{"N": float64(len(people))}}
			}
			out = append(out, q)
		}
	}
	return out
}

// shared completes q with a share, its error and interval.
func shared(q Quantity, s survive.Share, clustered bool) Quantity {
	q.Value, q.SE = s.Value, s.SE
	switch exact := s.Method() == survive.Exact; {
	case exact && clustered:
		q.By = ByExactPatients
	case exact:
		q.By = ByExact
	case clustered:
		q.By = ByLogLogPatients
	default:
		q.By = ByLogLog
	}
	return q.within(s.Interval(level))
}
