package main

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// Breakdown is what the levels of one factor gave; a factor of numbers is cut at
// its terciles.
type Breakdown struct {
	Factor string  `json:"factor"`
	Levels []Group `json:"levels"`
}

// breakdowns sums up films by each factor of which there are two levels or more.
func breakdowns(all []verdict, follow []penetration) (out []Breakdown) {
	for _, name := range factorNames(all) {
		levels := levelsOf(name, all)
		parts := map[string][]verdict{}
		after := map[string][]penetration{}
		for _, v := range all {
			if level, ok := levels[v.film]; ok {
				parts[level] = append(parts[level], v)
			}
		}
		for _, p := range follow {
			if level, ok := levels[p.film]; ok {
				after[level] = append(after[level], p)
			}
		}
		if len(parts) < 2 {
			continue
		}
		b := Breakdown{Factor: name}
		for _, level := range slices.SortedFunc(maps.Keys(parts), byValue) {
			b.Levels = append(b.Levels, gather(level, parts[level], after[level]))
		}
		out = append(out, b)
	}
	return out
}

// levelsOf returns the level of each film that has the factor. Numbers of more
// than six values are cut at their terciles.
func levelsOf(name string, all []verdict) map[*film]string {
	of := func(f *film) *factor {
		i := slices.IndexFunc(f.factors, func(x factor) bool { return x.name == name })
		if i < 0 {
			return nil
		}
		return &f.factors[i]
	}
	var numbers []float64
	for _, v := range all {
		if x := of(v.film); x != nil && x.level == "" {
			numbers = append(numbers, x.value)
		}
	}
	slices.Sort(numbers)
	few := len(slices.Compact(slices.Clone(numbers))) <= 6
	levels := map[*film]string{}
	for _, v := range all {
		switch x := of(v.film); {
		case x == nil:
		case x.level != "":
			levels[v.film] = x.level
		case few:
			levels[v.film] = strconv.FormatFloat(x.value, 'g', 5, 64)
		default:
			levels[v.film] = tercile(numbers, x.value)
		}
	}
	return levels
}

// byValue orders levels that are numbers by their value, others as text.
func byValue(a, b string) int {
	x, err := strconv.ParseFloat(a, 64)
	y, err2 := strconv.ParseFloat(b, 64)
	if err != nil || err2 != nil {
		return strings.Compare(a, b)
	}
	return cmp.Compare(x, y)
}

// tercile names the third of sorted numbers in which v lies.
func tercile(sorted []float64, v float64) string {
	n := len(sorted)
	a, b := sorted[n/3], sorted[2*n/3]
	switch {
	case v < a:
		return fmt.Sprintf("1: below %.4g", a)
	case v < b:
		return fmt.Sprintf("2: %.4g to %.4g", a, b)
	}
	return fmt.Sprintf("3: from %.4g", b)
}

// Line is what is said of one film.
type Line struct {
	Film    string `json:"film"`
	Factors string `json:"factors"`
}

// worstDecile returns the worst tenth of films, the worst first.
func worstDecile(all []verdict) (lines []Line) {
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b verdict) int { return cmp.Compare(b.badness(), a.badness()) })
	for _, v := range sorted[:(len(sorted)+9)/10] {
		lines = append(lines, Line{v.String(), describe(v.film.factors)})
	}
	return lines
}

// describe lists factors.
func describe(all []factor) string {
	var parts []string
	for _, f := range all {
		if f.level != "" {
			parts = append(parts, f.name+" "+f.level)
		} else {
			parts = append(parts, fmt.Sprintf("%s %.4g", f.name, f.value))
		}
	}
	return strings.Join(parts, ", ")
}
