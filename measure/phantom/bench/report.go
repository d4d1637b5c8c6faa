package main

import (
	"fmt"
	"strings"
)

// Report is what the films gave.
type Report struct {
	About   string      `json:"about"`
	Total   Group       `json:"total"`
	Sets    []Group     `json:"sets,omitempty"`
	Factors []Breakdown `json:"factors,omitempty"`
	Telling []Telling   `json:"bad_films_have_more,omitempty"`
	Worst   []Line      `json:"worst_tenth,omitempty"`
	Empty   *Empty      `json:"without_a_replaced_hip,omitempty"`
	Costs   []Cost      `json:"cost,omitempty"`
}

// reportOn sums up verdicts on films with and without a replaced hip.
func reportOn(about string, all []verdict) Report {
	r := Report{About: about}
	var hips []verdict
	for _, v := range all {
		if v.film.truth != nil {
			hips = append(hips, v)
			continue
		}
		if r.Empty == nil {
			r.Empty = &Empty{}
		}
		r.Empty.add(v)
	}
	follow := penetrations(hips)
	r.Total = gather("all", hips, follow)
	r.Sets = bySet(hips, follow)
	r.Factors = breakdowns(hips, follow)
	r.Telling = telling(hips)
	r.Worst = worstDecile(hips)
	return r
}

// bySet sums up each set of films where there are several.
func bySet(all []verdict, follow []penetration) (out []Group) {
	var sets []string
	parts, after := map[string][]verdict{}, map[string][]penetration{}
	for _, v := range all {
		if parts[v.film.set] == nil {
			sets = append(sets, v.film.set)
		}
		parts[v.film.set] = append(parts[v.film.set], v)
	}
	for _, p := range follow {
		after[p.film.set] = append(after[p.film.set], p)
	}
	if len(sets) < 2 {
		return nil
	}
	for _, s := range sets {
		out = append(out, gather(s, parts[s], after[s]))
	}
	return out
}

// failures says which intervals held too seldom or too often over all films, and
// what else the report must not have; "" where nothing.
func (r Report) failures() string {
	var out []string
	for _, c := range r.Total.Coverage {
		if c.Off {
			out = append(out, c.String())
		}
	}
	return strings.Join(out, "; ")
}

// brief returns what is counted over all films, in one line.
func (r Report) brief() string {
	g := r.Total
	s := fmt.Sprintf("%d films, %d refused, %d wrong, %d silent, %d other side, RMSE %v %v, median %.4f mm, %d rims %v %v deg, held", g.Films, g.Refused, g.Wrong, g.Silent, g.OtherSide,
		g.Superior, g.Medial, g.Median, g.Version.N, g.Inclined, g.Version)
	for _, c := range g.Coverage {
		s += fmt.Sprintf(" %.1f %%", 100*c.Held)
	}
	if r.Empty != nil {
		s += fmt.Sprintf(", %d alarms in %d", r.Empty.Found, r.Empty.Searches)
	}
	return s
}
