package session

import (
	"math"

	"linerwatch/measure"
)

// LoupeAt says what the loupe shows.
type LoupeAt int

// The places of the loupe.
const (
	NoLoupe LoupeAt = iota
	AtPointer
	AtRim // a point on the rim of the chosen outline
)

// loupe is the magnifier of the viewer.
type loupe struct {
	at      LoupeAt
	pointer Pointer
	inside  bool    // the pointer is over the viewer
	angle   float64 // of the rim point, from the top of the film, clockwise, degrees
}

// Loupe returns where the loupe is, and the film point that it magnifies; ok is
// false where there is none to show.
func (s *Session) Loupe() (at LoupeAt, p measure.Point, ok bool) {
	f := s.selected
	if f == nil || f.pixels == nil || !(f.Camera.Zoom > 0) {
		return NoLoupe, p, false
	}
	switch l := s.loupe; {
	case l.at == AtPointer && l.inside:
		return l.at, f.Camera.ToFilm(l.pointer.X, l.pointer.Y), true
	case l.at == AtRim && f.Draft != nil:
		return l.at, s.rimPoint(f), true
	}
	return s.loupe.at, p, false
}

// rimPoint returns the point of the chosen outline at the loupe's angle.
func (s *Session) rimPoint(f *Film) measure.Point {
	c := f.Draft.Trace(s.part).At
	sin, cos := math.Sincos((s.loupe.angle - 90) * math.Pi / 180)
	return measure.Point{X: c.X + c.R*cos, Y: c.Y + c.R*sin}
}

// LoupeIs returns where the loupe has been put.
func (s *Session) LoupeIs() LoupeAt { return s.loupe.at }

// SetLoupe puts the loupe somewhere.
func (s *Session) SetLoupe(at LoupeAt) {
	s.loupe.at = at
	s.changed(ViewChanged)
}

// ToggleLoupe shows the loupe at the pointer, or none.
func (s *Session) ToggleLoupe() {
	if s.loupe.at == NoLoupe {
		s.SetLoupe(AtPointer)
	} else {
		s.SetLoupe(NoLoupe)
	}
}

// WalkRim moves the loupe along the rim of the chosen outline by deg degrees,
// clockwise.
func (s *Session) WalkRim(deg float64) {
	if f := s.selected; f == nil || f.Draft == nil {
		return
	}
	if s.loupe.at == AtRim {
		s.loupe.angle = math.Mod(s.loupe.angle+deg+360, 360)
	}
	s.SetLoupe(AtRim)
}

// RimAngle returns the angle of the loupe's rim point, degrees from the top of the
// film, clockwise.
func (s *Session) RimAngle() float64 { return s.loupe.angle }

// pointed notes where the pointer is; it reports whether the view shows it.
func (s *Session) pointed(p Pointer, inside bool) bool {
	s.loupe.pointer, s.loupe.inside = p, inside
	return s.loupe.at == AtPointer
}

// ToggleLocal spreads the greys inside the cup's outline by their neighbourhood,
// or shows them as they are. It changes what is shown, not the film.
func (s *Session) ToggleLocal() {
	s.local = !s.local
	if f := s.selected; s.local && (f == nil || f.Draft == nil) {
		s.Say("Local contrast shows inside the cup's outline, once there is one.")
	}
	s.changed(ViewChanged)
}

// Local returns the circle in which f is shown with local contrast; ok is false
// where it is not. It follows the cup's outline in steps, so that a drag does not
// compute it anew at every move.
func (s *Session) Local(f *Film) (c measure.Circle, ok bool) {
	const step = 16 // px
	if !s.local || f == nil || f.Draft == nil {
		return c, false
	}
	c = f.Draft.Cup.At
	snap := func(v float64) float64 { return math.Round(v/step) * step }
	return measure.Circle{X: snap(c.X), Y: snap(c.Y), R: snap(c.R) + step}, true
}

// LocalOn reports whether local contrast is switched on.
func (s *Session) LocalOn() bool { return s.local }
