package dataset

import (
	"slices"
	"time"

	"linerwatch/app/study"
)

// work makes the rows of one hip.
func (e *export) work(r study.Record) *hipWork {
	lacks := map[string]string{}
	for _, f := range r.Films {
		lacks[f.ID] = e.lacks(f)
	}
	h := newHipRow(withoutPaths(r), e.Whose)
	w := &hipWork{lines: newLines(), codes: codesOf(h.Record), last: lastOf(h.Record)}
	e.tables.hips.put(w.lines, h)
	for i, f := range h.entries {
		stands, why := h.StandingOf(f)
		e.tables.films.put(w.lines, &filmRow{h, f, i + 1, stands, why, lacks[f.ID]})
	}
	rows := readingRows(h)
	for _, g := range rows {
		e.tables.readings.put(w.lines, g)
		if g.row == rowReading {
			e.tables.penetration.put(w.lines, g)
		}
	}
	for _, q := range fitRows(h) {
		e.tables.fits.put(w.lines, q)
	}
	for _, v := range eventRows(h) {
		e.tables.events.put(w.lines, v)
	}
	for _, g := range gradeRows(h) {
		e.tables.grades.put(w.lines, g)
	}
	w.agreed = e.agreedOf(h.Record)
	return w
}

// withoutPaths is a record whose films are named by their IDs alone: texts about them would
// tell the names of files.
func withoutPaths(r study.Record) study.Record {
	r.Films, r.Readings = slices.Clone(r.Films), slices.Clone(r.Readings)
	for i := range r.Films {
		r.Films[i].Path = ""
	}
	for i := range r.Readings {
		r.Readings[i].Film.Path = ""
	}
	return r
}

// codesOf are the codes of a record that are told.
func codesOf(r study.Record) []string {
	out := append([]string{r.Hip.Patient, r.Hip.ID, r.Hip.Group}, r.Readers()...)
	for _, f := range r.Films {
		out = append(out, f.Facts.Patient)
	}
	return out
}

// lastOf is when something was last done on the hip, as far as its record says.
func lastOf(r study.Record) (last time.Time) {
	latest := func(t time.Time) {
		if t.After(last) {
			last = t
		}
	}
	for _, g := range r.Readings {
		latest(g.At)
		if g.Withdrawn != nil {
			latest(g.Withdrawn.At)
		}
	}
	for _, x := range r.Exclusions {
		latest(x.At)
	}
	for _, d := range r.Unaccepted {
		latest(d.At)
	}
	for _, v := range r.Events {
		latest(v.At)
	}
	for _, g := range r.Grades {
		latest(g.At)
	}
	return last
}
