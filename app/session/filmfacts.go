package session

import (
	"fmt"
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
	out := []Fact{{"File", f.Name(), ""}, {"Date", f.DateText() + dateSource(f), dateTodo(f)}}
	if f.Facts.Width > 0 {
		out = append(out, Fact{"Size", fmt.Sprintf("%d x %d px", f.Facts.Width, f.Facts.Height), ""})
	}
	out = append(out, spacingFact(f))
	n := s.Numbers(f)
	if n.Err != nil {
		return append(out, Fact{"Reading", "none: " + study.Told(n.Err), ""})
	}
	out = append(out, Fact{"Scale at the hip", fmt.Sprintf("%.5f ± %.5f mm per pixel, from the %g mm head", n.Reading.Scale, n.Reading.SEScale, n.HeadMM), ""})
	if n.HasMagnify {
		todo := ""
		if s.Doubt(f) != "" {
			todo = "check the head diameter in the operation note"
		}
		out = append(out, Fact{"Implied magnification", fmt.Sprintf("%.3f (%.2f to %.2f is usual)", n.Magnification, measure.LeastMagnification, measure.MostMagnification), todo})
	}
	out = append(out, s.againstBaseline(f, n)...)
	out = append(out, Fact{"Corrections made", corrections(n), ""})
	for _, w := range n.Remarks() {
		out = append(out, Fact{"Remark", study.WarningWords(w), study.Todo(w)})
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
	return "enter the date on which the film was taken"
}

func spacingFact(f *Film) Fact {
	switch {
	case f.Imager > 0:
		return Fact{"Spacing in the file", fmt.Sprintf("%.4f mm per pixel at the detector", f.Imager), ""}
	case f.Facts.SpacingMM > 0:
		return Fact{"Spacing in the file", fmt.Sprintf("%.4f mm per pixel, %s; not used", f.Facts.SpacingMM, f.Facts.SpacingKind), ""}
	}
	return Fact{"Spacing in the file", "none; the head gives the scale, and its diameter cannot be checked against the file", ""}
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
		fact := Fact{"Cup against baseline", fmt.Sprintf("radius %.2f mm, at baseline %.2f mm (%+.1f %%)", now, then, percent), ""}
		if change > much || change < -much {
			fact.Todo = "the cup cannot change its size: check both outlines, then the projection of this film"
		}
		return []Fact{fact}
	}
	return nil
}

// corrections says what the reading was corrected for, and what not.
func corrections(n Numbers) string {
	return "magnification, by the head; " + n.Beam.Words()
}
