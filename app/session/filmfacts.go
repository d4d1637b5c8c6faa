package session

import (
	"math"

	"linerwatch/app/study"
	"linerwatch/measure"
)

// Fact is a line about a film: what is known, and what to do about it where
// something is to be done.
type Fact struct{ Name, Value, Todo string }

// FilmFacts tells where the scale of f comes from, how it compares with the
// baseline film, what was corrected, and each warning with what to do.
func (s *Session) FilmFacts(f *Film) []Fact {
	if f == nil {
		return nil
	}
	out := []Fact{{say("facts.file"), f.Name(), ""}, {say("field.date"), f.DateText() + dateSource(f), dateTodo(f)}}
	if f.Facts.Width > 0 {
		out = append(out, Fact{say("facts.size"), say("facts.pixels", "Width", f.Facts.Width, "Height", f.Facts.Height), ""})
	}
	out = append(out, spacingFact(f))
	n := s.Numbers(f)
	if n.Err != nil {
		return append(out, Fact{say("facts.reading"), say("facts.none", "Why", study.Told(n.Err)), ""})
	}
	out = append(out, Fact{say("facts.scale"), say("facts.from-head", "Scale", n.Reading.Scale, "SE", n.Reading.SEScale, "Head", n.HeadMM), ""})
	if n.HasMagnify {
		todo := ""
		if s.Doubt(f) != "" {
			todo = say("todo.magnification")
		}
		out = append(out, Fact{say("facts.magnification"), say("facts.usual", "M", n.Magnification, "Least", measure.LeastMagnification, "Most", measure.MostMagnification), todo})
	}
	out = append(out, s.againstBaseline(f, n)...)
	out = append(out, Fact{say("facts.corrections-made"), corrections(n), ""})
	for _, w := range n.Remarks() {
		out = append(out, Fact{say("facts.remark"), study.WarningWords(w), study.Todo(w)})
	}
	return out
}

func dateSource(f *Film) string {
	if f.file == nil || f.file.DateSource == "" || !f.Dated() {
		return ""
	}
	return " (" + f.file.DateSource + ")"
}

func dateTodo(f *Film) string {
	if f.Dated() {
		return ""
	}
	return say("facts.enter-date")
}

func spacingFact(f *Film) Fact {
	switch {
	case f.Imager > 0:
		return Fact{say("facts.spacing"), say("facts.at-detector", "MM", f.Imager), ""}
	case f.Facts.SpacingMM > 0:
		return Fact{say("facts.spacing"), say("facts.not-used", "MM", f.Facts.SpacingMM, "Kind", f.Facts.SpacingKind), ""}
	}
	return Fact{say("facts.spacing"), say("facts.no-spacing"), ""}
}

// againstBaseline compares the cup's outline with the baseline film's: a cup keeps
// its size, so that a difference is a change of projection or an outline off its
// edge.
func (s *Session) againstBaseline(f *Film, n Numbers) []Fact {
	const much = 0.02 // of the radius; common practice, no source
	if s.course.err != nil || s.course.IsBaseline(f) {
		return nil
	}
	for _, m := range s.course.trend.Films {
		if m.Film.ID != s.course.trend.Baseline.ID || m.Reading.Scale == 0 {
			continue
		}
		now, then := n.Cup.R*n.Reading.Scale, m.Cup.R*m.Reading.Scale
		change := now/then - 1
		percent := math.Round(1000*change)/10 + 0 // never "-0.0"
		fact := Fact{say("facts.cup"), say("facts.cup-radius", "Now", now, "Then", then, "Percent", percent), ""}
		if change > much || change < -much {
			fact.Todo = say("facts.cup-todo")
		}
		return []Fact{fact}
	}
	return nil
}

// corrections says what the reading was corrected for, and what not.
func corrections(n Numbers) string {
	return say("facts.corrected", "Beam", n.Beam.Words())
}
