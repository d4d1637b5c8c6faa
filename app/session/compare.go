package session

import "linerwatch/measure"

// Compare is how a second film is shown with the selected one.
type Compare int

// The ways to compare. All but the first put the other film's cup where the
// selected film's is, at the same scale.
const (
	Alone   Compare = iota
	Beside          // the other film at the left, zoom and place linked
	Blend           // one over the other
	Wipe            // the other film left of the pointer
	Flicker         // the one or the other
)

// String returns the word shown to the reader.
func (c Compare) String() string {
	return say([...]string{"compare.off", "compare.beside", "compare.blend", "compare.wipe", "compare.flicker"}[c])
}

// Compare returns how films are compared.
func (v *Viewer) Compare() Compare { return v.compare }

// SetCompare chooses how films are compared. Side by side, the view moves so that
// each film has its half.
func (v *Viewer) SetCompare(c Compare) {
	f := v.s.strip.selected
	was := v.compare
	v.compare = c
	if f != nil && f.wasRead() && (was == Beside) != (c == Beside) {
		d := v.width / 4
		if was == Beside {
			d = -d
		}
		f.Camera = f.Camera.Panned(d, 0)
	}
	v.s.decoded.tend()
	v.s.changed(ViewChanged | OutlineChanged)
}

// Other returns the film that the selected one is compared with: the baseline, or
// for the baseline itself the film after it. It is nil where there is none with
// outlines.
func (v *Viewer) Other() *Film {
	for _, f := range v.s.strip.films {
		if v.s.course.IsBaseline(f) && f != v.s.strip.selected && v.canRegister(f) {
			return f
		}
	}
	for _, f := range v.s.strip.films {
		if f != v.s.strip.selected && v.canRegister(f) {
			return f
		}
	}
	return nil
}

func (v *Viewer) canRegister(f *Film) bool {
	return f.wasRead() && f.step != Failed && f.Draft != nil && v.s.Numbers(f).Err == nil
}

// Registered returns the camera that shows other with its cup where the selected
// film's is and as large: the scale of each film is that of its own head. Films are
// not turned.
func (v *Viewer) Registered(other *Film) (Camera, bool) {
	f := v.s.strip.selected
	if f == nil || other == nil || !v.canRegister(f) || !v.canRegister(other) {
		return Camera{}, false
	}
	mm, otherMM := v.s.Numbers(f).Reading.Scale, v.s.Numbers(other).Reading.Scale
	c := Camera{Zoom: f.Camera.Zoom * otherMM / mm}
	vx, vy := f.Camera.ToView(f.Draft.Cup.At.Center())
	at := other.Draft.Cup.At.Center()
	c.X, c.Y = at.X-vx/c.Zoom, at.Y-vy/c.Zoom
	return c, true
}

// OnSelected returns where a point of other lies on the selected film when the two
// are registered.
func (v *Viewer) OnSelected(c Camera, p measure.Point) measure.Point {
	x, y := c.ToView(p)
	return v.s.strip.selected.Camera.ToFilm(x, y)
}
