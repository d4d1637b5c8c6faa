package main

import "strings"

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
