package patient

import (
	"strings"

	"linerwatch/app/study"
)

// Look is how a drawing is made, which its caption goes by.
type Look bool

// The looks.
const (
	InColour Look = false // on a screen
	InBlack  Look = true  // on paper
)

// seenMM is the movement below which a drawing to scale hardly shows it.
const seenMM = 0.5

// Drawing is the cup, the lining and the ball as they lie on the films, mm; x goes to the
// right on the film, y downwards, from the ball's place on the film that movement is counted
// from.
type Drawing struct {
	HeadR, CupR, LinerMM float64 // LinerMM is 0 where it is not known
	CupX, CupY           float64
	DX, DY               float64 // the ball's movement
	Moves                bool
	First, Last, Bar     string // labels
}

// Drawing returns the drawing; ok is false where there is nothing to draw.
func (p Page) Drawing() (d Drawing, ok bool) {
	if p.hip.Err != nil {
		return d, false
	}
	t, last := p.hip.Trend, p.last()
	d = Drawing{LinerMM: t.Hip.Implant.LinerMM, Moves: p.Moves(), Bar: "10 mm",
		DX: last.Medial * t.Hip.Side.Medial(), DY: -last.Vector.Superior,
		First: p.say.Say("patient.label.first", study.Values{"Month": p.base()}), Last: p.say.Say("patient.label.last", nil)}
	for _, m := range t.Films {
		if m.Film.ID == t.Baseline.ID {
			d.HeadR, d.CupR = m.HeadMM/2, m.Cup.R*m.Reading.Scale
			d.CupX, d.CupY = -m.Reading.Offset.Medial*t.Hip.Side.Medial(), m.Reading.Offset.Superior
		}
	}
	return d, d.HeadR > 0
}

// UnderDrawing says what the drawing shows, and no more.
func (p Page) UnderDrawing(look Look) string {
	if p.hip.Err != nil {
		return ""
	}
	length, _ := p.last().Magnitude()
	said := study.Values{"Liner": p.hip.Implant.LinerMM > 0, "Moves": p.Moves(), "Month": p.base(), "Small": length < seenMM}
	if look == InBlack {
		return p.say.Say("patient.drawing.paper", said)
	}
	return p.say.Say("patient.drawing", said)
}

// Settles reports whether the films tell a time of settling, which is drawn then. From a film
// on that was taken later, settling was not seen.
func (p Page) Settles() bool {
	f := p.hip.Trend.Fit
	return p.hip.Err == nil && f != nil && f.HasBedding && p.hip.Trend.Settling().Bounded(f)
}

// UnderCourse says how to read the course: of what it draws, and no more.
func (p Page) UnderCourse(look Look) string {
	if p.hip.Err != nil {
		return ""
	}
	line := ""
	for _, c := range p.hip.Trend.SteadyCourse() {
		if line == "" {
			line = "line"
		}
		if c.Told {
			line = "band"
		}
	}
	said := study.Values{"Line": line, "Settles": p.Settles(), "Month": p.base()}
	if look == InBlack {
		return p.say.Say("patient.course.paper", said)
	}
	return p.say.Say("patient.course", said)
}

// Marked writes a label of an axis with the decimal mark of the language.
func (p Page) Marked(label string) string {
	return strings.Replace(label, ".", p.say.Say("number.mark", nil), 1)
}

// Axes returns the words beside the axes of the course, and at its time of settling.
func (p Page) Axes() (years, moved, settling string) {
	return p.say.Say("patient.label.years", nil), p.say.Say("patient.label.moved", nil), p.say.Say("patient.label.settling", nil)
}
