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
func (v *Viewer) Loupe() (at LoupeAt, p measure.Point, ok bool) {
	f := v.s.strip.selected
	if f == nil || f.pixels == nil || !(f.Camera.Zoom > 0) {
		return NoLoupe, p, false
	}
	switch l := v.loupe; {
	case l.at == AtPointer && l.inside:
		return l.at, f.Camera.ToFilm(l.pointer.X, l.pointer.Y), true
	case l.at == AtRim && f.Draft != nil:
		return l.at, v.rimPoint(f), true
	}
	return v.loupe.at, p, false
}

// rimPoint returns the point of the chosen outline at the loupe's angle.
func (v *Viewer) rimPoint(f *Film) measure.Point {
	c := f.Draft.Trace(v.s.edits.part).At
	sin, cos := math.Sincos((v.loupe.angle - 90) * math.Pi / 180)
	return measure.Point{X: c.X + c.R*cos, Y: c.Y + c.R*sin}
}

// LoupeIs returns where the loupe has been put.
func (v *Viewer) LoupeIs() LoupeAt { return v.loupe.at }

// SetLoupe puts the loupe somewhere.
func (v *Viewer) SetLoupe(at LoupeAt) {
	v.loupe.at = at
	v.s.changed(ViewChanged)
}

// ToggleLoupe shows the loupe at the pointer, or none.
func (v *Viewer) ToggleLoupe() {
	if v.loupe.at == NoLoupe {
		v.SetLoupe(AtPointer)
	} else {
		v.SetLoupe(NoLoupe)
	}
}

// WalkRim moves the loupe along the rim of the chosen outline by deg degrees,
// clockwise.
func (v *Viewer) WalkRim(deg float64) {
	if f := v.s.strip.selected; f == nil || f.Draft == nil {
		return
	}
	if v.loupe.at == AtRim {
		v.loupe.angle = math.Mod(v.loupe.angle+deg+360, 360)
	}
	v.SetLoupe(AtRim)
}

// RimAngle returns the angle of the loupe's rim point, degrees from the top of the
// film, clockwise.
func (v *Viewer) RimAngle() float64 { return v.loupe.angle }

// pointed notes where the pointer is; it reports whether the view shows it.
func (v *Viewer) pointed(p Pointer, inside bool) bool {
	v.loupe.pointer, v.loupe.inside = p, inside
	return v.loupe.at == AtPointer
}

// ToggleLocal spreads the greys inside the cup's outline by their neighbourhood,
// or shows them as they are. It changes what is shown, not the film.
func (v *Viewer) ToggleLocal() {
	v.local = !v.local
	if f := v.s.strip.selected; v.local && (f == nil || f.Draft == nil) {
		v.s.Say("%s", say("search.contrast-needs-cup"))
	}
	v.s.changed(ViewChanged)
}

// Local returns the circle in which f is shown with local contrast; ok is false
// where it is not. It follows the cup's outline in steps, so that a drag does not
// compute it anew at every move.
func (v *Viewer) Local(f *Film) (c measure.Circle, ok bool) {
	const step = 16 // px
	if !v.local || f == nil || f.Draft == nil {
		return c, false
	}
	c = f.Draft.Cup.At
	snap := func(v float64) float64 { return math.Round(v/step) * step }
	return measure.Circle{X: snap(c.X), Y: snap(c.Y), R: snap(c.R) + step}, true
}

// LocalOn reports whether local contrast is switched on.
func (v *Viewer) LocalOn() bool { return v.local }
