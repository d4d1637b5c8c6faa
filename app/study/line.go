package study

import (
	"math"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// LineFrom says where a film's reference line comes from.
type LineFrom string

// The sources of a line.
const (
	NoLine  LineFrom = ""
	Drawn   LineFrom = "drawn"   // two points by the reader
	Aligned LineFrom = "aligned" // the baseline's, turned as the pelvis is turned on this film
)

// Line is the reference line of a film, such as that through the teardrops.
// Superior is at right angles to it. The zero value is none.
type Line struct {
	From  LineFrom
	A, B  measure.Point // its ends, px; where it is drawn
	Alpha float64       // to the image rows, degrees, from +x towards +y
	SE    float64       // of Alpha, degrees
}

// lineSD is how well a reader places each end of a line across it, mm at the
// hip, as a standard deviation; common practice, no source.
const lineSD = 1.0

// leastLine is the shortest line taken, px: a click that slipped is shorter.
const leastLine = 20

// maxAlpha is the steepest line taken for one across the pelvis, degrees.
const maxAlpha = 45

// DrawLine returns the line through two points of a film. scale is mm per pixel
// at the hip, by which the error of Alpha is told; 0 takes measure.MiddlingPixel.
func DrawLine(a, b measure.Point, scale float64) (Line, error) {
	if !(scale > 0) {
		scale = measure.MiddlingPixel
	}
	l, err := measure.Line(a, b, lineSD/scale)
	if err != nil {
		return Line{}, NewError("line.fault", texts.Values{"Why": NoteOf(err)})
	}
	switch {
	case l.Length < leastLine:
		return Line{}, NewError("line.short", texts.Values{"Px": l.Length})
	case math.Abs(l.Alpha) > maxAlpha:
		return Line{}, NewError("line.steep", texts.Values{"Degrees": l.Alpha})
	}
	return Line{From: Drawn, A: a, B: b, Alpha: l.Alpha, SE: l.SE}, nil
}

// AlignedLine returns the line of a film whose pelvis is turned by r against the
// baseline film, of which baseline is the line; without one it counts from the
// baseline film's rows. The error of the baseline's line stays with its film.
func AlignedLine(baseline Line, r measure.FilmRotation) Line {
	return Line{From: Aligned, Alpha: baseline.Alpha + r.Degrees, SE: r.SE}
}

// Words says where superior comes from on a film.
func (l Line) Words() string {
	switch l.From {
	case Drawn:
		return texts.Say("line.drawn", texts.Values{"Alpha": l.Alpha, "SE": l.SE})
	case Aligned:
		return texts.Say("line.aligned", texts.Values{"Alpha": l.Alpha, "SE": l.SE})
	}
	return texts.Say("warning.line.none", nil)
}

func (l Line) reference() measure.ReferenceLine {
	return measure.ReferenceLine{Alpha: l.Alpha, SE: l.SE}
}
