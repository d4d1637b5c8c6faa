package study

import (
	"math"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Warning is something that a reader should weigh; its code says what about.
type Warning = measure.Warning

// The codes of warnings, besides those of package measure.
const (
	WarnFile       = "file"    // a statement of the file that could not be used
	WarnSpacing    = "spacing" // the magnification cannot be checked
	WarnSide       = measure.SideContradicts
	WarnMagnified  = measure.Magnification
	WarnFactors    = "factor"     // the head's size and the file disagree on the magnification
	WarnView       = "view"       // the file does not say how the film was taken
	WarnBeam       = "beam"       // not corrected for the cone beam
	WarnLine       = "line"       // no reference line
	WarnByHand     = "by-hand"    // an outline placed by the reader
	WarnCrossing   = "crossing"   // the outlines cross
	WarnPatient    = "patient"    // the file's patient is another
	WarnDate       = "date"       // the film is from before surgery
	WarnProjection = "projection" // the cup's outline differs from the baseline film's
	WarnNotTaken   = "not-taken"  // outlines that the search weighed and did not take
	WarnQuality    = "quality"    // a fact about the outline that weakens it
)

// The cases of WarnSide, WarnLine and WarnView that are said here.
const (
	sideTag      = "tag" // Tag is what the file says, Measured what was measured
	lineNone     = "none"
	lineUnused   = "unused" // not every film has one
	viewSeen     = "seen"   // by the picture the film may be AP
	viewUnseen   = "unseen"
	factorStated = "stated" // it is the file's that no hip has
	turnedCup    = "cup"    // of measure.FilmTurned: the cup of a Side opens at Degrees
)

// WarnMagnification is the warning of an implied magnification, empty where it is
// plausible.
func WarnMagnification(m float64) (w Warning, doubtful bool) {
	if m >= measure.LeastMagnification && m <= measure.MostMagnification {
		return w, false
	}
	return Warning{Code: WarnMagnified,
		Values: texts.Values{"M": m, "Least": measure.LeastMagnification, "Most": measure.MostMagnification}}, true
}

// magnified reports whether the head's size implies a magnification that no hip has. Where
// the film states no spacing that is what was said when the film was read.
func (m Measurement) magnified() bool {
	if m.Status != Measured {
		return false
	}
	if s := m.Film.Facts.SpacingMM; s > 0 && m.Reading.Scale > 0 {
		_, doubtful := WarnMagnification(s / m.Reading.Scale)
		return doubtful
	}
	return m.warned(WarnMagnified)
}

// warned reports whether a measurement has a warning of a code.
func (m Measurement) warned(code string) bool {
	return slices.ContainsFunc(m.Warnings, func(w Warning) bool { return w.Code == code })
}

// magnified says how many of the films imply such a magnification: every number in mm that
// comes of them rests on that scale.
func magnified(lists ...[]Measurement) Note {
	n := 0
	for _, films := range lists {
		for i := range films {
			if films[i].magnified() {
				n++
			}
		}
	}
	if n == 0 {
		return Note{}
	}
	return Note{Code: "attention.magnification", Values: texts.Values{"N": float64(n)}}
}

// Doubt says that the scale of films of the trend is not to be trusted; nothing where it is.
func (t Trend) Doubt() Note { return magnified(t.Films, t.Lateral) }

// WarnFactor is the warning of a head whose size implies another magnification than the
// file states by an attribute, empty where they agree within a tenth, as two places in a
// patient do that lie 100 mm apart at 1 m from the source (common practice, no source).
func WarnFactor(implied, stated float64, by string) (w Warning, doubtful bool) {
	if !(stated > 0) || math.Abs(implied/stated-1) <= 0.1 {
		return w, false
	}
	w = Warning{Code: WarnFactors, Values: texts.Values{"M": implied, "Stated": stated, "By": by}}
	_, head := WarnMagnification(implied)
	if _, file := WarnMagnification(stated); file && !head {
		w.Case = factorStated
	}
	return w, true
}

// WarnTag is the warning of a file that names the other side.
func WarnTag(tag, measured measure.Side) Warning {
	return Warning{Code: WarnSide, Case: sideTag, Values: texts.Values{"Tag": tag.String(), "Measured": measured.String()}}
}

// KeptOut is the code of a film that is not read without a reader's word.
const KeptOut = "view.kept-out"

// WarnUnstated is the warning of a film whose file does not say how it was taken; looks says
// that by the picture it may be AP.
func WarnUnstated(looks bool) Warning {
	if looks {
		return Warning{Code: WarnView, Case: viewSeen}
	}
	return Warning{Code: WarnView, Case: viewUnseen}
}

// WarnNoSpacing is the warning of a film whose magnification cannot be checked.
func WarnNoSpacing() Warning {
	return Warning{Code: WarnSpacing}
}

// WarnOtherPatient is the warning of a file whose patient code is not the hip's.
func WarnOtherPatient(file, hip string) Warning {
	return Warning{Code: WarnPatient, Values: texts.Values{"File": file, "Hip": hip}}
}

// Remarks returns the warnings of a measured film, and what was not corrected of
// its reading as it is now.
func (m Measurement) Remarks() []Warning {
	out := append([]Warning(nil), m.Warnings...)
	if m.Status != Measured {
		return out
	}
	if m.Reading.Thinnest < 0 {
		out = append(out, Warning{Code: WarnCrossing})
	}
	if w, ok := m.leans(); ok {
		out = append(out, w)
	}
	if !m.How.Beam {
		out = append(out, Warning{Code: WarnBeam, Values: m.Beam.missing()})
	}
	if !m.How.Line && m.Film.View() != Lateral {
		if m.Line.From != NoLine {
			out = append(out, Warning{Code: WarnLine, Case: lineUnused})
		} else {
			out = append(out, Warning{Code: WarnLine, Case: lineNone})
		}
	}
	return out
}

// leans objects to a cup that opens towards the middle of the body, as no cup does that a
// hip moves in: the film is turned or mirrored, or the hip is the other one.
func (m Measurement) leans() (w Warning, ok bool) {
	o, known := m.Orientation()
	if !known || o.Inclination >= 0 && o.Inclination <= 90 {
		return w, false
	}
	below := o.Inclination
	if below > 90 {
		below -= 180
	}
	return Warning{Code: measure.FilmTurned, Case: turnedCup, Values: texts.Values{"Degrees": below, "Side": m.Side.String()}}, true
}

// Turned says why a film that was read seems to be turned or mirrored, nothing where it does not.
func (m Measurement) Turned() Note {
	for _, w := range m.Remarks() {
		if w.Code == measure.FilmTurned {
			return Note{Code: warningKey(w), Values: w.Values}
		}
	}
	return Note{}
}

// OfOutlines reports whether a warning says that an outline, or the hip that it is of,
// may be another than it should be: it is to be looked at before a reading is accepted.
func OfOutlines(w Warning) bool {
	switch w.Code {
	case measure.OutlineMisfit, measure.HeadHidden, measure.RingPartial, measure.RingEdgeOn, measure.SideUnproven, WarnSide,
		measure.FilmTurned, WarnCrossing, WarnQuality, WarnPatient, WarnDate, WarnMagnified:
		return true
	}
	return false
}

// WarningWords returns the sentence of a warning; where it came as one, that as it stands.
func WarningWords(w Warning) string { return WarningIn(texts.Say, w) }

// WarningIn is WarningWords in the language of say.
func WarningIn(say Say, w Warning) string {
	if w.Text != "" {
		return w.Text
	}
	return say(warningKey(w), spokenIn(say, w.Values))
}

func warningKey(w Warning) string {
	if w.Case == "" {
		return "warning." + w.Code
	}
	return "warning." + w.Code + "." + w.Case
}

// Texts returns the texts of warnings.
func Texts(list []Warning) []string {
	out := make([]string, 0, len(list))
	for _, w := range list {
		out = append(out, WarningWords(w))
	}
	return out
}

// Unique returns the warnings without those whose text was there before.
func Unique(list []Warning) []Warning {
	var out []Warning
	seen := map[string]bool{}
	for _, w := range list {
		if text := WarningWords(w); !seen[text] {
			seen[text] = true
			out = append(out, w)
		}
	}
	return out
}

// asking are the codes of warnings that ask something of the reader.
var asking = []string{WarnBeam, WarnLine, WarnMagnified, WarnByHand, WarnCrossing, WarnPatient, WarnDate, WarnQuality,
	WarnProjection, WarnSide, measure.SideUnproven, measure.RingEdgeOn, measure.RingPartial, measure.OutlineMisfit, measure.HeadHidden, measure.FilmTurned}

// Todo says what a warning asks of the reader; empty where it asks nothing.
func Todo(w Warning) string {
	if !slices.Contains(asking, w.Code) {
		return ""
	}
	return texts.Say("todo."+w.Code, nil)
}
