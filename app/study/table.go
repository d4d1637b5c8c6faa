package study

import (
	"cmp"
	"fmt"
	"slices"
)

// NewHipRate fits the steady-state line to one hip's rows of a table of
// penetrations that were measured elsewhere; start 0 stands for the default.
// Rows may share a time. Where every row in the line has an SE the rows weigh
// 1/SE², with two rows the SEs also give the interval; the error of the unseen
// baseline is taken to be their root mean square.
//
// The penetrations count from a baseline that the table need not list. An
// earliest row of exactly 0 mm is that baseline: in the steady state it shows
// no bedding-in.
func NewHipRate(hip string, rows []Point, start float64) HipRate {
	r := HipRate{Hip: hip, N: len(rows)}
	if r.Reason = startFault(start); r.Reason != "" {
		return r
	}
	start = Hip{StartYears: start}.Start()
	var used []Point
	withSE := 0
	for i, p := range rows {
		if s := rowFault(p); s != "" {
			r.Reason = fmt.Sprintf("row %d: %s", i+1, s)
			return r
		}
		if InSteadyState(p.Years, start) {
			used = append(used, p)
			if p.SE > 0 {
				withSE++
			}
		}
	}
	r.Used = len(used)
	if r.Reason = tooFew(r.Used, start); r.Reason != "" {
		return r
	}
	if withSE > 0 && withSE < r.Used {
		r.warn("some rows have no standard error: all rows weigh the same")
	}
	r.fit(used, withSE == r.Used, earliest(rows), start)
	return r
}

// fit fits the line to the used rows; first is the earliest row of all.
func (r *HipRate) fit(used []Point, weighted bool, first Point, start float64) {
	f, why := fitSteady(used, rms(used), weighted)
	if f == nil {
		r.Reason = why
		return
	}
	if why != "" {
		r.warn(why)
	}
	t, y := make([]float64, len(used)), make([]float64, len(used))
	for i, p := range used {
		t[i], y[i] = p.Years, p.MM
	}
	if f.IntervalFrom == FromFit && exact(t, y, func(t float64) float64 { return f.Line.Intercept + f.Line.Slope*t }) {
		r.warn("the rows lie exactly on the line: nothing tells its error")
	}
	f.startAt(start, first.MM == 0 && InSteadyState(first.Years, start))
	if !f.HasBedding {
		r.warn(fmt.Sprintf("bedding-in was not observed: the baseline row is at %g years", first.Years))
	}
	r.Fit = f
}

func earliest(rows []Point) Point {
	return slices.MinFunc(rows, func(a, b Point) int { return cmp.Compare(a.Years, b.Years) })
}

func rowFault(p Point) string {
	switch {
	case !finite(p.Years, p.MM, p.SE):
		return "a value is not a finite number"
	case p.Years < 0:
		return fmt.Sprintf("%g years is before surgery", p.Years)
	case p.SE < 0:
		return fmt.Sprintf("a standard error of %g mm is negative", p.SE)
	}
	return ""
}

func (r *HipRate) warn(s string) { r.Warnings = append(r.Warnings, s) }
