package main

import (
	"fmt"
	"io"
	"strings"
)

// String says how often an interval held.
func (c Coverage) String() string {
	s := fmt.Sprintf("%s %.1f %% of %d (%.1f to %.1f)", c.Of, 100*c.Held, c.N, 100*c.Low, 100*c.High)
	if c.Off {
		s += " OFF"
	}
	return s
}

// print writes the report as tables.
func (r Report) print(w io.Writer) {
	fmt.Fprintf(w, "%s\n\n", r.About)
	groups := append(append([]Group{}, r.Sets...), r.Total)
	if r.Total.Films > 0 {
		printCounts(w, groups)
		printErrors(w, groups)
		printFactors(w, r.Factors)
		fmt.Fprintf(w, "\nrefused, wrong and silent films have more of (z from %d)\n", leastZ)
		for _, t := range r.Telling {
			fmt.Fprintln(w, " ", t)
		}
		fmt.Fprint(w, "\nworst tenth of the films; -json has their factors\n")
		for _, line := range r.Worst {
			fmt.Fprintln(w, " ", line.Film)
		}
	}
	if r.Empty != nil {
		r.Empty.print(w)
	}
	for _, c := range r.Costs {
		c.print(w)
	}
}

func printCounts(w io.Writer, groups []Group) {
	fmt.Fprintf(w, "%-28s %5s %7s %6s %5s %6s | %4s %4s %6s | %6s %7s %7s %7s %7s | %13s %12s\n", "films", "n", "refused", "hidden", "wrong", "silent",
		"kind", "side", "missed", "follow", "sup", "med", "length", "median", "detect, ms", "load, ms")
	for _, g := range groups {
		fmt.Fprintf(w, "%-28s %5d %7d %6d %5d %6d | %4d %4d %6d | %6d %7v %7v %7v %7.3f | %6.0f %6.0f %6.0f %5.0f\n", g.Name, g.Films, g.Refused, g.Hidden, g.Wrong, g.Silent,
			g.OtherKind, g.OtherSide, g.Missed, g.Follow, g.Superior, g.Medial, g.Magnitude, g.Median,
			g.Detect.Median, g.Detect.Max, g.Load.Median, g.Load.Max)
	}
	fmt.Fprintf(w, `
hidden: refused, and less than a fifth of the true outline of head or cup shows; wrong: head off by over %g mm, cup by
over %g mm, or another kind of cup (kind; counted in wrong); silent: offset off by over %g mm without a warning about an
outline; side: another side named; missed: another replaced hip of a whole film.
follow: penetrations against the earliest measured film; sup, med, length: RMSE of their components and length, mm;
median: of the length of the error, mm; ms: median and longest film, with other films measured at the same time.
`, headOff, cupOff, silentOff)
	fmt.Fprint(w, "\nstated 95 % intervals that held the truth, % of n (95 % range); OFF: the range excludes 93 to 97 %\n")
	for _, g := range groups {
		var parts []string
		for _, c := range g.Coverage {
			parts = append(parts, c.String())
		}
		fmt.Fprintf(w, "%-28s %s\n", g.Name, strings.Join(parts, "; "))
	}
}

func printErrors(w io.Writer, groups []Group) {
	fmt.Fprintf(w, "\n%-28s %-14s %5s %9s %9s %9s %9s\n", "error, mm", "", "n", "bias", "sd", "rmse", "largest")
	for _, g := range groups {
		name := g.Name
		for _, e := range []struct {
			what string
			Errors
		}{
			{"penetr. sup", g.Superior}, {"penetr. med", g.Medial}, {"penetr. length", g.Magnitude}, {"offset sup", g.OffsetUp}, {"offset med", g.OffsetIn},
			{"scale, share", g.Scale}, {"inclin., deg", g.Inclined}, {"version, deg", g.Version},
		} {
			if e.N > 0 {
				fmt.Fprintf(w, "%-28s %-14s %5d %9.4f %9.4f %9.4f %9.4f\n", name, e.what, e.N, e.Bias, e.SD, e.RMSE, e.Largest)
				name = ""
			}
		}
	}
}

func printFactors(w io.Writer, all []Breakdown) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%-18s %-22s %5s %7s %6s %5s %6s | %6s %7s %7s %7s | %s\n", "factor", "level", "n", "refused", "hidden", "wrong", "silent",
		"follow", "sup", "med", "median", "held: penetration, offset")
	for _, b := range all {
		name := b.Factor
		for _, g := range b.Levels {
			fmt.Fprintf(w, "%-18s %-22s %5d %7d %6d %5d %6d | %6d %7v %7v %7.3f | %s %s\n", name, g.Name, g.Films, g.Refused, g.Hidden, g.Wrong, g.Silent,
				g.Follow, g.Superior, g.Medial, g.Median, g.held(ofPenetration), g.held(ofOffset))
			name = ""
		}
	}
}

// held prints the share of a kind of interval.
func (g Group) held(of string) string {
	for _, c := range g.Coverage {
		if c.Of == of && c.N > 0 {
			mark := " "
			if c.Off {
				mark = "!"
			}
			return fmt.Sprintf("%3.0f %%%s", 100*c.Held, mark)
		}
	}
	return "    - "
}
