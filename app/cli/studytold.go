package cli

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// lines writes lines to w.
func lines(w io.Writer, list ...string) error {
	for _, l := range list {
		if _, err := fmt.Fprintln(w, report.OneLine(l)); err != nil {
			return err
		}
	}
	return nil
}

// tellRoll says how tables are understood and what they change.
func tellRoll(w io.Writer, r batch.Roll) error {
	for _, m := range r.Mappings {
		if err := tellMapping(w, m); err != nil {
			return err
		}
	}
	if len(r.Mappings) == 0 || len(r.Bad) > 0 {
		return nil
	}
	list := []string{fmt.Sprintf("Hips: %d new, %d changed, %d as they are. Events: %d new, %d corrected.", r.New, r.Changed, r.Same, r.Told, r.Corrected)}
	return lines(w, append(list, r.Changes...)...)
}

// tellMapping says what is taken of each column of a table.
func tellMapping(w io.Writer, m roster.Mapping) error {
	for _, n := range m.Notes {
		if err := lines(w, study.NoteWords(n)); err != nil {
			return err
		}
	}
	if err := lines(w, fmt.Sprintf("%s: %s of %s", m.File, study.Count(len(m.Rows), "row"), m.Table)); err != nil {
		return err
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, c := range m.Columns {
		if c.Name == "" {
			continue
		}
		if _, err := fmt.Fprintf(t, "  %s\t%s\t%s\n", report.OneLine(c.Name), taken(c), report.OneLine(kind(c))); err != nil {
			return err
		}
	}
	if err := t.Flush(); err != nil || len(m.Lacking) == 0 {
		return err
	}
	var names []string
	for _, f := range m.Lacking {
		names = append(names, f.Name)
	}
	return lines(w, "  no column holds "+strings.Join(names, ", "))
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

// tellFiling says what becomes of films.
func tellFiling(w io.Writer, p *batch.Filing) error {
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
	return lines(w, list...)
}

// tellSearched says what became of a film on which something is to be told.
func tellSearched(w io.Writer, s batch.Searched) error {
	text := study.NoteWords(s.Reason)
	if w, ok := magnified(s); ok {
		text = study.WarningWords(w)
	}
	return lines(w, fmt.Sprintf("%s, %s: %s", s.Hip.Label(), s.Film.Name(), text))
}

// tellSwept sums up bulk measuring.
func tellSwept(w io.Writer, s batch.Swept, doubtful int) error {
	list := []string{fmt.Sprintf("Measured: %s proposed, %d without a result, %d unreadable, %d missing; %d had been searched before.",
		study.Count(s.Measured, "film"), s.Refused, s.Failed, s.Missing, s.There)}
	if doubtful > 0 {
		list = append(list, study.Count(doubtful, "film")+" with a magnification that cannot be: is the head's diameter right?")
	}
	if s.Headless > 0 {
		list = append(list, study.Count(s.Headless, "film")+" of hips whose head diameter is not known: not searched.")
	}
	if s.Left > 0 {
		list = append(list, study.Count(s.Left, "film")+" left: the same command goes on.")
	}
	return lines(w, list...)
}

// tellReplayed says where a proposal differs from what is measured now.
func tellReplayed(w io.Writer, r batch.Replayed) error {
	of := fmt.Sprintf("%s, %s (version %s+%s): ", r.Hip.Label(), r.Film.Name(), r.From.Version, r.From.Commit)
	if !r.Reason.IsZero() {
		return lines(w, of+"not measured: "+study.NoteWords(r.Reason))
	}
	for _, d := range r.Differ {
		if err := lines(w, of+fmt.Sprintf("%s %.9g %s, was %.9g: %+.3g", d.Name, d.Now, d.Unit, d.Was, d.Now-d.Was)); err != nil {
			return err
		}
	}
	return nil
}
