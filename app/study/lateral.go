package study

import (
	"fmt"
	"strings"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Axes says how a patient lies on a cross-table lateral film: towards which edge
// of the film the head end and the front are. The zero value is not known.
type Axes struct {
	Head, Front string  // "up", "down", "left" or "right"
	Obliquity   float64 // of the beam, degrees, towards the head positive; 0 straight across the table
}

// ErrNoAxes is the error of a lateral film that does not tell how the patient lies.
var ErrNoAxes = NewError("lateral.no-axes", nil)

// ParseAxes reads "left,up" or "left,up,45": the edges of head end and front, and
// the obliquity in degrees.
func ParseAxes(s string) (Axes, error) {
	var a Axes
	parts := strings.Split(s, ",")
	wrong := NewError("lateral.axes", texts.Values{"Text": s})
	if len(parts) < 2 || len(parts) > 3 {
		return a, wrong
	}
	a.Head, a.Front = strings.TrimSpace(parts[0]), strings.TrimSpace(parts[1])
	if len(parts) == 3 {
		if _, err := fmt.Sscan(parts[2], &a.Obliquity); err != nil || !(a.Obliquity >= -80 && a.Obliquity <= 80) {
			return Axes{}, NewError("lateral.obliquity", texts.Values{"Text": parts[2]})
		}
	}
	if _, _, err := a.frame(); err != nil {
		return Axes{}, wrong
	}
	return a, nil
}

// AxesOf reads Patient Orientation (0020,0020): where rows and columns run to.
func AxesOf(orientation [2]string) (a Axes) {
	for i, letters := range orientation {
		if letters == "" {
			continue
		}
		to, from := [2]string{"right", "down"}[i], [2]string{"left", "up"}[i]
		switch letters[0] {
		case 'A':
			a.Front = to
		case 'P':
			a.Front = from
		case 'H':
			a.Head = to
		case 'F':
			a.Head = from
		}
	}
	if a.Head == "" || a.Front == "" {
		return Axes{}
	}
	return a
}

// Edges are those of a film, as Axes name them.
func Edges() []string { return []string{"up", "down", "left", "right"} }

// Known reports whether the axes tell how the patient lies: towards two edges that meet.
func (a Axes) Known() bool {
	_, _, err := a.frame()
	return err == nil
}

// frame returns the side and the angle by which package measure reads a film so
// that superior is towards the head end and medial towards the front.
func (a Axes) frame() (side measure.Side, alpha float64, err error) {
	turn := map[string]float64{"up": 0, "right": 90, "down": 180, "left": -90}
	alpha, ok := turn[a.Head]
	front, known := turn[a.Front]
	if !ok || !known {
		return side, 0, ErrNoAxes
	}
	// A quarter turn clockwise from the head end is where medial of a right hip lies.
	switch d := int(front-alpha+720) % 360; d {
	case 90:
		return measure.Right, alpha, nil
	case 270:
		return measure.Left, alpha, nil
	}
	return side, 0, ErrNoAxes
}

// Spatial is a penetration in space, from an AP film and the lateral film of the
// same day, both against those of the baseline's day.
type Spatial struct {
	Film, Lateral Film
	measure.Spatial
	Err error // why it could not be told
}

// takeLateral splits the lateral films from those of the trend.
func takeLateral(ms []Measurement) (ap, lateral []Measurement) {
	ap = make([]Measurement, 0, len(ms))
	for _, m := range ms {
		if m.Film.View() == Lateral {
			lateral = append(lateral, m)
		} else {
			ap = append(ap, m)
		}
	}
	return ap, lateral
}

// pairLateral reads the lateral films and joins them with the AP films of the same
// days.
func (t *Trend) pairLateral() {
	if len(t.Lateral) == 0 {
		return
	}
	var notes []Note
	t.Lateral, _, notes = OneMethod(t.Hip, t.Lateral)
	for _, n := range notes {
		t.warn("lateral.films", texts.Values{"Of": n})
	}
	base := t.lateralOf(t.Baseline)
	if base == nil {
		t.warn("lateral.no-baseline", texts.Values{"Date": dateText(t.Baseline.Date())})
		return
	}
	for _, p := range t.Penetration {
		m := t.lateralOf(p.Film)
		if m == nil || p.Film.ID == t.Baseline.ID {
			continue
		}
		s := Spatial{Film: p.Film, Lateral: m.Film}
		moved := m.Reading.Offset.Sub(base.Reading.Offset)
		if a, b := m.Film.Axes().Obliquity, base.Film.Axes().Obliquity; a != b {
			s.Err = NewError("lateral.obliquities", texts.Values{"Baseline": b, "Now": a})
		} else {
			s.Spatial, s.Err = measure.Combine(p.Vector,
				measure.Lateral{Along: moved.Superior, Anterior: moved.Medial, Cov: moved.Cov, Obliquity: a}, t.slantOf(p.Film), m.slant())
		}
		if s.Err == nil && s.SEDisagreement > 0 && abs(s.Disagreement) > 3*s.SEDisagreement {
			t.warn("lateral.disagree", texts.Values{"Film": p.Film.Name(), "MM": s.Disagreement})
		}
		t.Spatial = append(t.Spatial, s)
	}
}

// slantOf returns the slant of the rays through the hip on a film of the trend.
func (t *Trend) slantOf(f Film) measure.Slant {
	for _, m := range t.Films {
		if m.Film.ID == f.ID && m.Status == Measured {
			return m.slant()
		}
	}
	return measure.Slant{}
}

// frame returns the side and the angle to its rows by which m was read.
func (m Measurement) frame() (side measure.Side, alpha float64) {
	side = m.Side
	switch {
	case m.Film.View() == Lateral:
		side, alpha, _ = m.Film.Axes().frame()
	case m.How.Line:
		alpha = m.Line.Alpha
	}
	return side, alpha
}

// OnFilm returns how far a movement of the head on film f is there, px; ok is false
// where the film is not among those that the trend was made of.
func (t Trend) OnFilm(f Film, moved measure.Vector) (dx, dy float64, ok bool) {
	for _, m := range t.Films {
		if m.Film.ID == f.ID && m.Reading.Scale > 0 {
			side, alpha := m.frame()
			dx, dy = moved.OnFilm(m.Reading.Scale, side, alpha)
			return dx, dy, true
		}
	}
	return 0, 0, false
}

// slant returns the slant of the rays through the hip, zero where the film is not
// corrected for the cone beam.
func (m Measurement) slant() (s measure.Slant) {
	if !m.How.Beam {
		return s
	}
	side, alpha := m.frame()
	b, _, _ := m.Film.Beam()
	s, _ = b.Slant(m.Head.Center(), side, alpha)
	return s
}

// lateralOf returns the measured lateral film of a film's day.
func (t *Trend) lateralOf(f Film) *Measurement {
	for i, m := range t.Lateral {
		if m.Status == Measured && !m.Film.Date().IsZero() && midnight(m.Film.Date()).Equal(midnight(f.Date())) {
			return &t.Lateral[i]
		}
	}
	return nil
}

func abs(x float64) float64 { return max(x, -x) }
