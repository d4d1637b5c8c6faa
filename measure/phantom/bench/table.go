package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
)

// sample is a set of errors with their stated standard errors.
type sample struct{ err, se []float64 }

func (s *sample) add(err, se float64) { s.err, s.se = append(s.err, err), append(s.se, se) }

func (t *tally) print(w io.Writer, c config) {
	where := "whole films and windows of 150 mm"
	switch c.whole {
	case 0:
		where = "windows of 150 mm"
	case 1:
		where = "whole films"
	}
	fmt.Fprintf(w, "%d hips, 3 films each, %s, seed %d (tuning used seeds below 1000), spacing told: %v\n\n", c.hips, where, c.seed, !c.blind)
	fmt.Fprintf(w, "%-28s %5s %7s %7s %6s %6s %6s %6s %6s %7s\n", "films", "n", "found", "refused", "wrong", "warned", "missed", "side", "kind", "ms")
	names := slices.Sorted(maps.Keys(t.by))
	for _, name := range names {
		n := t.by[name]
		fmt.Fprintf(w, "%-28s %5d %5.1f %% %7d %6d %6d %6d %6d %6d %7.0f\n", name, n.films, 100*float64(n.found)/float64(max(1, n.films)),
			n.refused, n.wrong, n.warned, n.missed, n.otherSide, n.otherKind, n.spent.Seconds()*1000/float64(max(1, n.films)))
	}
	fmt.Fprintf(w, "%-28s %5d, refused %d\n", "without a hip replacement", t.empty.films, t.empty.refused)
	fmt.Fprint(w, "\nwrong: without a warning; warned: wrong with one; missed: the other replaced hip of a whole film;\n"+
		"side, kind: another side or cup named; ms: of find.Hips, with other films measured at the same time\n\n")
	fmt.Fprintf(w, "%-28s %-12s %5s %9s %9s %9s %9s %18s %8s\n", "error, mm", "", "n", "bias", "sd", "rmse", "largest", "95 % limits", "in 95 %")
	for _, name := range names {
		n := t.by[name]
		n.superior.print(w, name, "penetr. sup")
		n.medial.print(w, "", "penetr. med")
		n.offsetUp.print(w, "", "offset sup")
		n.offsetIn.print(w, "", "offset med")
		n.scale.print(w, "", "scale, share")
		n.inclination.print(w, "", "inclin., deg")
		n.version.print(w, "", "version, deg")
	}
}

func (s sample) print(w io.Writer, class, what string) {
	n := float64(len(s.err))
	if n == 0 {
		return
	}
	var sum, squares, largest float64
	inside := 0
	for i, e := range s.err {
		sum += e
		squares += e * e
		largest = max(largest, math.Abs(e))
		if math.Abs(e) <= 1.96*s.se[i] {
			inside++
		}
	}
	bias := sum / n
	sd := math.Sqrt(max(0, squares/n-bias*bias) * n / max(1, n-1))
	fmt.Fprintf(w, "%-28s %-12s %5.0f %9.4f %9.4f %9.4f %9.4f %8.4f %8.4f %6.1f %%\n",
		class, what, n, bias, sd, math.Sqrt(squares/n), largest, bias-1.96*sd, bias+1.96*sd, 100*float64(inside)/n)
}
