package session

import "linerwatch/measure"

// Camera places a film in the viewport: (X, Y) is the point of the film at the
// viewport's top-left corner, Zoom the view pixels per film pixel.
type Camera struct{ X, Y, Zoom float64 }

// The limits of Zoom.
const (
	minZoom = 0.02
	maxZoom = 40
)

// ToFilm returns the film point under view point (x, y).
func (c Camera) ToFilm(x, y float64) measure.Point {
	return measure.Point{X: c.X + x/c.Zoom, Y: c.Y + y/c.Zoom}
}

// ToView returns the view point of a film point.
func (c Camera) ToView(p measure.Point) (x, y float64) {
	return (p.X - c.X) * c.Zoom, (p.Y - c.Y) * c.Zoom
}

// ZoomedAt returns c with Zoom changed by factor, the film point under view
// point (x, y) staying where it is.
func (c Camera) ZoomedAt(x, y, factor float64) Camera {
	p := c.ToFilm(x, y)
	z := min(max(c.Zoom*factor, minZoom), maxZoom)
	return Camera{X: p.X - x/z, Y: p.Y - y/z, Zoom: z}
}

// Panned returns c with the film moved by (dx, dy) view pixels.
func (c Camera) Panned(dx, dy float64) Camera {
	return Camera{X: c.X - dx/c.Zoom, Y: c.Y - dy/c.Zoom, Zoom: c.Zoom}
}

// Fit returns the camera that shows a w by h film whole and centred in a
// viewport of vw by vh.
func Fit(w, h int, vw, vh float64) Camera {
	if w <= 0 || h <= 0 || vw <= 0 || vh <= 0 {
		return Camera{Zoom: 1}
	}
	z := min(max(min(vw/float64(w), vh/float64(h)), minZoom), maxZoom)
	return lookAt(measure.Point{X: float64(w) / 2, Y: float64(h) / 2}, z, vw, vh)
}

// lookAt returns the camera with film point p in the middle of the viewport.
func lookAt(p measure.Point, zoom, vw, vh float64) Camera {
	return Camera{X: p.X - vw/2/zoom, Y: p.Y - vh/2/zoom, Zoom: zoom}
}

// cupShare is the part of the viewport's shorter side that the cup's outline
// takes when the view goes to the hip.
const cupShare = 0.62

// hipView returns the camera that shows the cup large and centred.
func hipView(cup measure.Circle, vw, vh float64) Camera {
	z := min(max(cupShare*min(vw, vh)/(2*cup.R), minZoom), maxZoom)
	return lookAt(cup.Center(), z, vw, vh)
}

// SetViewport tells the session the viewer's size in view pixels and how many of
// them make one unit of the screen.
func (v *Viewer) SetViewport(w, h, scale float64) {
	if w <= 0 || h <= 0 || scale <= 0 || (w == v.width && h == v.height && scale == v.scale) {
		return
	}
	for _, f := range v.s.strip.films {
		if !f.aimed {
			continue
		}
		if f.Camera != f.resized.to { // moved since
			f.resized = resized{from: f.Camera, w: v.width, h: v.height}
		}
		f.Camera = f.resized.in(w, h)
		f.resized.to = f.Camera
	}
	v.width, v.height, v.scale = w, h, scale
}

// resized is a view that was chosen in a viewport of w by h, and what it has become in
// another: each size is reckoned from the first, so that the way back leads to what was there.
type resized struct {
	from Camera
	w, h float64
	to   Camera
}

// in keeps in the middle what is in the middle, and in sight what is in sight.
func (r resized) in(w, h float64) Camera {
	mid := r.from.ToFilm(r.w/2, r.h/2)
	return lookAt(mid, min(max(r.from.Zoom*min(w/r.w, h/r.h), minZoom), maxZoom), w, h)
}

// aim sets a film's camera where it has none: on the hip where there are
// outlines, on the whole film otherwise.
func (v *Viewer) aim(f *Film) {
	if f == nil || !f.wasRead() || f.touched {
		return
	}
	f.aimed = true
	if f.Draft != nil {
		f.Camera = hipView(f.Draft.Cup.At, v.width, v.height)
		return
	}
	f.Camera = Fit(f.size.X, f.size.Y, v.width, v.height)
}

// setCamera is a move of the view by the reader.
func (v *Viewer) setCamera(c Camera) {
	f := v.s.strip.selected
	if f == nil || f.pixels == nil {
		return
	}
	f.Camera, f.aimed, f.touched = c, true, true
	v.s.changed(ViewChanged)
}

// ShowFilm fits the whole film into the viewer.
func (v *Viewer) ShowFilm() {
	if f := v.s.strip.selected; f != nil && f.pixels != nil {
		v.setCamera(Fit(f.pixels.Rect.Dx(), f.pixels.Rect.Dy(), v.width, v.height))
	}
}

// ShowHip goes to the cup, or to the whole film where nothing is outlined.
func (v *Viewer) ShowHip() {
	if f := v.s.strip.selected; f != nil && f.Draft != nil {
		v.setCamera(hipView(f.Draft.Cup.At, v.width, v.height))
		return
	}
	v.ShowFilm()
}

// ShowPixels shows one film pixel as one view pixel, about the middle.
func (v *Viewer) ShowPixels() {
	if f := v.s.strip.selected; f != nil && f.Camera.Zoom > 0 {
		v.setCamera(f.Camera.ZoomedAt(v.width/2, v.height/2, 1/f.Camera.Zoom))
	}
}

// ZoomBy zooms about the middle of the viewer.
func (v *Viewer) ZoomBy(factor float64) {
	if f := v.s.strip.selected; f != nil && f.Camera.Zoom > 0 {
		v.setCamera(f.Camera.ZoomedAt(v.width/2, v.height/2, factor))
	}
}
