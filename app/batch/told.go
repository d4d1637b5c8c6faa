package batch

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// Told says how the tables are understood and what they change, line by line.
func (r Roll) Told() (list []string) {
	for _, m := range r.Mappings {
		list = append(list, mapped(m)...)
	}
	if len(r.Mappings) == 0 || len(r.Bad) > 0 {
		return list
	}
	list = append(list, fmt.Sprintf("Hips: %d new, %d changed, %d as they are. Events: %d new, %d corrected.", r.New, r.Changed, r.Same, r.Added, r.Corrected))
	if n := r.Valued + r.Revalued; n > 0 {
		list = append(list, study.NoteWords(study.Note{Code: "roll.values", Values: study.Values{"New": float64(r.Valued), "Changed": float64(r.Revalued)}}))
	}
	return append(list, r.Changes...)
}

// BadTold names the cells that cannot be used.
func (r Roll) BadTold() (list []string) {
	for _, e := range r.Bad {
		list = append(list, study.Told(e))
	}
	return list
}

// mapped says what is taken of each column of a table.
func mapped(m roster.Mapping) (list []string) {
	list = append(study.NotesWords(m.Notes), fmt.Sprintf("%s: %s of %s", m.File, study.Count(len(m.Rows), "row"), m.Table))
	var rows [][3]string
	var width [2]int
	for _, c := range m.Columns {
		if c.Name == "" {
			continue
		}
		row := [3]string{c.Name, taken(c), kind(c)}
		for i := range width {
			width[i] = max(width[i], utf8.RuneCountInString(row[i]))
		}
		rows = append(rows, row)
	}
	for _, r := range rows {
		line := fmt.Sprintf("  %-*s  %-*s  %s", width[0], r[0], width[1], r[1], r[2])
		list = append(list, strings.TrimRight(line, " "))
	}
	var names []string
	for _, f := range m.Lacking {
		names = append(names, f.Name)
	}
	if len(names) > 0 {
		list = append(list, "  no column holds "+strings.Join(names, ", "))
	}
	return list
}

// taken says what a column is taken for.
func taken(c roster.Column) string {
	switch {
	case c.Field != nil:
		return c.Field.Name
	case c.Variable != nil:
		return "covariate of the " + string(c.Variable.Of)
	case c.Out:
		return "left out"
	}
	return "not known, left out"
}

// kind says what values a column has.
func kind(c roster.Column) string {
	switch {
	case c.Field != nil && c.Field.Unit != "":
		return c.Field.Type + ", " + c.Field.Unit
	case c.Field != nil:
		return c.Field.Type
	case c.Variable == nil:
		return ""
	case c.Variable.Unit != "":
		return string(c.Variable.Type) + ", " + c.Variable.Unit
	case len(c.Variable.Choices) > 0:
		return strings.Join(c.Variable.Choices, ", ")
	}
	return string(c.Variable.Type)
}

// Told says what becomes of the films, line by line.
func (p *Filing) Told() []string {
	list := []string{fmt.Sprintf("Films: %s, %d new; %d go to a hip, %d are there, %d wait, %d are copies, %d cannot be read.",
		study.Count(p.Files, "file"), p.New, p.Links, p.There, len(p.Waiting), p.Copies, len(p.Faults))}
	if len(p.Passed) > 0 {
		list = append(list, "Passed over: "+study.PassedWords(p.Passed)+".")
	}
	if p.Undated > 0 {
		list = append(list, study.Count(p.Undated, "film")+" that go to a hip state no date.")
	}
	for _, s := range p.Shared {
		list = append(list, fmt.Sprintf("Patients %s and %s have %s in common: is one patient here under two codes?", s.A, s.B, study.Count(s.N, "film")))
	}
	for _, f := range p.Waiting {
		list = append(list, "waits: "+f.Path+": "+study.NoteWords(f.Why))
	}
	for _, f := range p.Faults {
		list = append(list, "cannot be read: "+f.Path+": "+study.NoteWords(f.Why))
	}
	return list
}

// Told says what became of a film on which something is to be told, "" where nothing is: it
// has no outlines, or the head's diameter implies a magnification that cannot be.
func (s Searched) Told() string {
	text := study.NoteWords(s.Reason)
	if w, ok := s.Doubt(); ok {
		text = study.WarningWords(w)
	} else if s.Status == study.Measured {
		return ""
	}
	return fmt.Sprintf("%s, %s: %s", s.Hip.Label(), s.Film.Name(), text)
}

// Doubt returns the warning that the head's diameter implies a magnification that cannot
// be, or is not the one that the file states.
func (s Searched) Doubt() (w study.Warning, ok bool) {
	for _, w := range s.Warnings {
		if s.Status == study.Measured && (w.Code == study.WarnMagnified || w.Code == study.WarnFactors) {
			return w, true
		}
	}
	return study.Warning{}, false
}

// Told sums up, line by line.
func (s Swept) Told() []string {
	list := []string{fmt.Sprintf("Measured: %s proposed, %d without a result, %d unreadable, %d missing; %d had been searched before.",
		study.Count(s.Measured, "film"), s.Refused, s.Failed, s.Missing, s.There)}
	if s.Doubtful > 0 {
		list = append(list, study.Count(s.Doubtful, "film")+" with a magnification that cannot be: is the head's diameter right?")
	}
	if s.Headless > 0 {
		list = append(list, study.Count(s.Headless, "film")+" of hips whose head diameter is not known: not searched.")
	}
	if s.Left > 0 {
		list = append(list, study.Count(s.Left, "film")+" left: measuring goes on there when it is asked for again.")
	}
	return list
}

// Told says where a proposal differs from what is measured now, line by line.
func (r Replayed) Told() (list []string) {
	of := fmt.Sprintf("%s, %s (version %s+%s): ", r.Hip.Label(), r.Film.Name(), r.From.Version, r.From.Commit)
	if r.Reader != "" {
		of = fmt.Sprintf("%s, %s, which %s accepted untouched (version %s+%s): ", r.Hip.Label(), r.Film.Name(), r.Reader, r.From.Version, r.From.Commit)
	}
	if !r.Reason.IsZero() {
		return []string{of + "not measured: " + study.NoteWords(r.Reason)}
	}
	for _, d := range r.Differ {
		list = append(list, of+fmt.Sprintf("%s %.9g %s, was %.9g: %+.3g", d.Name, d.Now, d.Unit, d.Was, d.Now-d.Was))
	}
	return list
}
