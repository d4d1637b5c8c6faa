package study

import (
	"fmt"

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
	WarnBeam       = "beam"       // not corrected for the cone beam
	WarnLine       = "line"       // no reference line
	WarnByHand     = "by-hand"    // an outline placed by the reader
	WarnCrossing   = "crossing"   // the outlines cross
	WarnPatient    = "patient"    // the file's patient is another
	WarnDate       = "date"       // the film is from before surgery
	WarnProjection = "projection" // the cup's outline differs from the baseline film's
	WarnQuality    = "quality"    // a fact about the outline that weakens it
)

// WarnMagnification is the warning of an implied magnification, empty where it is
// plausible.
func WarnMagnification(m float64) (w Warning, doubtful bool) {
	if m >= measure.LeastMagnification && m <= measure.MostMagnification {
		return w, false
	}
	return Warning{Code: WarnMagnified, Text: fmt.Sprintf("implied magnification %.3f is outside %.2f to %.2f: check the head diameter",
		m, measure.LeastMagnification, measure.MostMagnification)}, true
}

// WarnTag is the warning of a file that names the other side.
func WarnTag(tag, measured measure.Side) Warning {
	return Warning{Code: WarnSide, Text: fmt.Sprintf("the file says %s, the hip measured is the %s one", tag, measured)}
}

// WarnNoSpacing is the warning of a film whose magnification cannot be checked.
func WarnNoSpacing() Warning {
	return Warning{Code: WarnSpacing, Text: "no spacing at the detector in the file: magnification not checked"}
}

// Remarks returns the warnings of a measured film, and what was not corrected of
// its reading as it is now.
func (m Measurement) Remarks() []Warning {
	out := append([]Warning(nil), m.Warnings...)
	if m.Status != Measured {
		return out
	}
	if m.Reading.Thinnest < 0 {
		out = append(out, Warning{Code: WarnCrossing, Text: "the head's outline crosses the cup's: check both"})
	}
	if !m.How.Beam {
		out = append(out, Warning{Code: WarnBeam, Text: m.Beam.Words()})
	}
	if !m.How.Line && m.Film.View() != Lateral {
		if m.Line.From != NoLine {
			out = append(out, Warning{Code: WarnLine, Text: "the reference line is not used: not every film of the hip has one"})
		} else {
			out = append(out, Warning{Code: WarnLine, Text: Line{}.Words()})
		}
	}
	return out
}

// OfOutlines reports whether a warning says that an outline, or the hip that it is of,
// may be another than it should be: it is to be looked at before a reading is accepted.
func OfOutlines(w Warning) bool {
	switch w.Code {
	case measure.OutlineMisfit, measure.HeadHidden, measure.RingPartial, measure.RingEdgeOn, measure.SideUnproven, WarnSide,
		WarnCrossing, WarnQuality, WarnPatient, WarnDate, WarnMagnified:
		return true
	}
	return false
}

// Texts returns the texts of warnings.
func Texts(list []Warning) []string {
	out := make([]string, 0, len(list))
	for _, w := range list {
		out = append(out, w.Text)
	}
	return out
}

// Unique returns the warnings without those whose text was there before.
func Unique(list []Warning) []Warning {
	var out []Warning
	seen := map[string]bool{}
	for _, w := range list {
		if !seen[w.Text] {
			seen[w.Text] = true
			out = append(out, w)
		}
	}
	return out
}

// Todo says what a warning asks of the reader; empty where it asks nothing.
func Todo(w Warning) string {
	return map[string]string{
		WarnBeam:             "nothing; compare only films taken with the same centring",
		WarnLine:             "draw the line through the teardrops on every film, or weigh superior and medial together",
		WarnMagnified:        "check the head diameter in the operation note",
		WarnByHand:           "refine to the edge, or weigh the larger standard error",
		WarnCrossing:         "look at both outlines before accepting",
		WarnPatient:          "make sure that the film is of this patient, or leave it out",
		WarnDate:             "check both dates, or leave the film out",
		WarnQuality:          "look whether the outline follows the edge where it can be seen",
		WarnProjection:       "look at both films side by side; a turned pelvis mimics or hides wear",
		WarnSide:             "make sure that this is the hip that was replaced",
		measure.SideUnproven: "make sure that this is the hip that was replaced",
		measure.RingEdgeOn:   "look at both ends of the ring",
		measure.RingPartial:  "look at both ends of the ring",

		measure.OutlineMisfit: "look whether the outline follows the edge, and move it where not",
		measure.HeadHidden:    "look whether the head's outline follows its edge below the shell",
	}[w.Code]
}
