package findings

import (
	"linerwatch/app/study"
)

// Readers is how far the readers of a study agree, on the superior offset of head from cup.
type Readers struct {
	Codes   []string // who read
	Told    []study.Quantity
	Pairs   []study.ReaderPair
	Why     study.Note // nothing is told
	Targets int        // films of hips that were read
}

// addReadings takes the readings of a hip that count for agreement: those that stand, of
// films that are not left out, which none that stands replaces. They are the rows that the
// table of readings is judged by.
func (g *Gatherer) addReadings(r study.Record, t study.Trend, err error) {
	after := map[string]string{}
	for _, x := range r.Readings {
		if x.Supersedes != "" {
			after[x.ID] = x.Supersedes
		}
	}
	replaced := map[string]bool{}
	for _, x := range r.Readings {
		if !x.Stands() {
			continue
		}
		for id := after[x.ID]; id != "" && !replaced[id]; id = after[id] {
			replaced[id] = true
		}
	}
	for _, x := range r.Readings {
		if !x.Stands() || replaced[x.ID] || r.Exclusion(x.FilmID) != nil {
			continue
		}
		m := x.For(r.Hip)
		if m.Status == study.Measured && err == nil {
			if now, ok := m.By(t.Method); ok {
				m = now
			}
		}
		if m.Status == study.Measured {
			g.reading = append(g.reading, study.AgreeRow{Target: r.Hip.ID + " " + x.FilmID, Of: r.Hip.ID, Reader: x.Reader, Value: m.Reading.Offset.Superior})
		}
	}
}

// readers judges them.
func readers(rows []study.AgreeRow) Readers {
	var out Readers
	seen, targets := map[string]bool{}, map[string]bool{}
	times := map[[2]string]int{}
	repeated := false
	for _, r := range rows {
		if !seen[r.Reader] {
			seen[r.Reader] = true
			out.Codes = append(out.Codes, r.Reader)
		}
		targets[r.Target] = true
		key := [2]string{r.Target, r.Reader}
		times[key]++
		repeated = repeated || times[key] > 1
	}
	out.Targets = len(targets)
	switch {
	case len(rows) == 0:
		out.Why = said("findings.no-reading")
		return out
	case len(out.Codes) < 2 && !repeated:
		out.Why = said("findings.one-reader")
		return out
	}
	var err error
	if out.Told, err = study.Agreement(rows, "mm"); err != nil {
		out.Why = study.NoteOf(err)
		return out
	}
	if out.Pairs, err = study.ReaderPairs(rows); err != nil {
		out.Why = study.NoteOf(err)
	}
	return out
}
