package study

import "linerwatch/assets/texts"

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
	if r.Reason = startFault(start); !r.Reason.IsZero() {
		return r
	}
	for i, p := range rows {
		if why := rowFault(p); !why.IsZero() {
			r.Reason = ofRow(i, why)
			return r
		}
	}
	h := newHipFilms(hip, penetrations(rows), Hip{StartYears: start}.Start())
	late := h.late()
	r.Used = len(late.t)
	if r.Reason = tooFew(r.Used, h.start); !r.Reason.IsZero() {
		return r
	}
	f, why := late.steady()
	if f == nil {
		r.Reason = why
		return r
	}
	r.Fit, r.Warnings = f, h.notes
	if !why.IsZero() {
		r.warn(why)
	}
	if f.IntervalFrom == FromFit && exact(late.t, late.y, func(t float64) float64 { return f.Line.Intercept + f.Line.Slope*t }) {
		r.warn(Note{Code: "rate.exact"})
	}
	if !f.HasBedding {
		r.warn(Note{Code: "rate.steady-baseline", Values: texts.Values{"Years": h.base.years}})
	}
	return r
}

// ofRow is what is wrong with the row of an index.
func ofRow(i int, why Note) Note {
	return Note{Code: "row.fault", Values: texts.Values{"N": float64(i + 1), "Why": why}}
}

func rowFault(p Point) Note {
	switch {
	case !finite(p.Years, p.MM, p.SE, p.SEBase, p.SEScale):
		return Note{Code: "row.not-finite"}
	case p.Years < 0:
		return Note{Code: "row.early", Values: texts.Values{"Years": p.Years}}
	case p.SE < 0 || p.SEBase < 0:
		return Note{Code: "row.negative-se", Values: texts.Values{"MM": min(p.SE, p.SEBase)}}
	case p.SE > 0 && p.SE <= p.SEBase:
		return Note{Code: "row.no-own-se", Values: texts.Values{"MM": p.SE, "Base": p.SEBase}}
	}
	return Note{}
}

func (r *HipRate) warn(n Note) { r.Warnings = append(r.Warnings, n) }
