package study

import "linerwatch/assets/texts"

// Grade is a reader's judgement of a film of a hip, given before any number of it is
// shown. Grades are never changed: of several of one reader for a film the last one holds.
type Grade struct {
	HipID, FilmID string
	Quality       string // code of Qualities
	Reason        string // code of GradeReasons; empty where there is nothing to say
	Note          string // free text
	Stamp
}

// Qualities lists how good a film is for measuring. A film that is not to count at all is
// left out by an Exclusion.
func Qualities() []Choice {
	return []Choice{{"A", texts.Say("grade.a", nil)}, {"B", texts.Say("grade.b", nil)}, {"C", texts.Say("grade.c", nil)}}
}

// GradeReasons lists why a film is less than good, in the order in which they are offered.
func GradeReasons() []Choice {
	return []Choice{
		{"rotation", texts.Say("grade.rotation", nil)},
		{"tilt", texts.Say("grade.tilt", nil)},
		{"exposure", texts.Say("grade.exposure", nil)},
		{"short-arc", texts.Say("grade.short-arc", nil)},
		{"hidden", texts.Say("grade.hidden", nil)},
		{"collimation", texts.Say("grade.collimation", nil)},
		{"blur", texts.Say("grade.blur", nil)},
		{"side", texts.Say("grade.side", nil)},
		{"other", texts.Say("grade.other", nil)},
	}
}

// Validate checks a grade. The error is a *FaultsError.
func (g Grade) Validate() error {
	list := []Fault{{"reason", choiceFault("fault.grade-reason", GradeReasons(), g.Reason)}}
	if g.Quality == "" {
		list = append(list, Fault{"quality", Note{Code: "fault.no-grade"}})
	}
	return faults(append(list, Fault{"quality", choiceFault("fault.grade", Qualities(), g.Quality)}))
}
