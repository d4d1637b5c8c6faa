package study

import "fmt"

// NewHipRate fits the steady-state line to one hip's rows of a table of
// penetrations that were measured elsewhere; start 0 stands for the default.
// Rows may share a time. Where every row has an SE the rows are weighed by it and by
// their scatter (wearfit.Balance); two rows have their interval from their SEs.
//
// The penetrations count from a baseline that the table need not list. An
// earliest row of exactly 0 mm is that baseline: in the steady state it shows
// no bedding-in.
func NewHipRate(hip string, rows []Point, start float64) HipRate {
	r := HipRate{Hip: hip, N: len(rows)}
	if r.Reason = startFault(start); r.Reason != "" {
		return r
	}
	for i, p := range rows {
		if s := rowFault(p); s != "" {
			r.Reason = fmt.Sprintf("row %d: %s", i+1, s)
			return r
		}
	}
	h := newHipFilms(hip, rows, Hip{StartYears: start}.Start())
	late := h.late()
	r.Used = len(late.t)
	if r.Reason = tooFew(r.Used, h.start); r.Reason != "" {
		return r
	}
	f, why := late.steady()
	if f == nil {
		r.Reason = why
		return r
	}
	r.Fit, r.Warnings = f, h.notes
	if why != "" {
		r.warn(why)
	}
	if f.IntervalFrom == FromFit && exact(late.t, late.y, func(t float64) float64 { return f.Line.Intercept + f.Line.Slope*t }) {
		r.warn("the rows lie exactly on the line: nothing tells its error")
	}
	if !f.HasBedding {
		r.warn(fmt.Sprintf("bedding-in was not observed: the baseline row is at %g years", h.base.years))
	}
	return r
}

func rowFault(p Point) string {
	switch {
	case !finite(p.Years, p.MM, p.SE, p.SEBase):
		return "a value is not a finite number"
	case p.Years < 0:
		return fmt.Sprintf("%g years is before surgery", p.Years)
	case p.SE < 0 || p.SEBase < 0:
		return fmt.Sprintf("a standard error of %g mm is negative", min(p.SE, p.SEBase))
	case p.SE > 0 && p.SE <= p.SEBase:
		return fmt.Sprintf("a standard error of %g mm leaves nothing beside the baseline film's %g mm", p.SE, p.SEBase)
	}
	return ""
}

func (r *HipRate) warn(s string) { r.Warnings = append(r.Warnings, s) }
