package ui

import (
	"image/color"
	"math"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/raster"
	"linerwatch/app/ui/widgets"
)

// onFilm are the colours drawn over a film, which is dark in every window.
var onFilm = widgets.Dark

// layers says what is drawn over the film.
type layers struct {
	outlines bool
	edges    bool    // the edge points of the fits
	edge     int     // the edge point of the chosen outline that is pointed at; -1 for none
	swapped  bool    // flicker: the other film is shown
	column   float64 // wipe: where the two films meet
	noGhost  bool    // hide where the head was on the baseline film
}

// arrowTimes is how much longer than life the penetration arrow is drawn: a
// tenth of a millimetre must be seen.
const arrowTimes = 10

// scene returns what the viewer shows of the selected film.
func scene(s *session.Session, l layers, w, h int, scale float64) raster.Scene {
	sc := raster.Scene{Width: w, Height: h, Scale: scale}
	f := s.Strip().Selected()
	if f == nil || f.Pixels() == nil {
		return sc
	}
	sc.X, sc.Y, sc.Zoom = f.Camera.X, f.Camera.Y, f.Camera.Zoom
	sc.Greys = greys(f)
	// The standard display has the patient's right at the left.
	if s.View(f) == study.Lateral {
		sc.Marks = []raster.Mark{{Left: true, Top: true, Text: edgesText(f)}}
	} else {
		sc.Marks = []raster.Mark{{Left: true, Top: true, Text: "R"}, {Top: true, Text: "L"}}
	}
	addOther(&sc, s, l)
	addLocal(&sc, s, f)
	addLoupe(&sc, s, f)
	addSketch(&sc, s)
	n := s.Numbers(f)
	if n.Err == nil {
		sc.Bar = scaleBar(n.Reading.Scale, f.Camera.Zoom, scale)
	}
	if !l.outlines || f.Draft == nil {
		return sc
	}
	if l.edges {
		sc.Dots = append(dots(f.Draft.Cup.Outline(), onFilm.Cup), dots(f.Draft.Head.Outline(), onFilm.Head)...)
	}
	sc.Rings = append(sc.Rings, partRing(s, f, session.Cup, onFilm.Cup), partRing(s, f, session.Head, onFilm.Head))
	addWire(&sc, f)
	addLines(&sc, f)
	addHandles(&sc, s)
	if l.edges {
		addPointed(&sc, s, f, l.edge)
	}
	if n.Err == nil && !l.noGhost {
		addPenetration(&sc, s, f)
	}
	return sc
}

// addPointed marks the edge point that is pointed at, and says what became of it.
func addPointed(sc *raster.Scene, s *session.Session, f *session.Film, i int) {
	edges := f.Draft.Trace(s.Edits().Part()).Fit.Edges
	if i < 0 || i >= len(edges) {
		return
	}
	e := edges[i]
	sc.Rings = append(sc.Rings, raster.Ring{X: e.X, Y: e.Y, R: 6 * max(sc.Scale, 1) / sc.Zoom, Color: onFilm.Text, Width: 1.4})
	sc.Labels = append(sc.Labels, raster.Label{X: e.X, Y: e.Y, Text: s.Edits().EdgeWords(i), Color: onFilm.Text})
}

func partRing(s *session.Session, f *session.Film, part session.Part, c color.RGBA) raster.Ring {
	at := f.Draft.Trace(part).At
	r := raster.Ring{X: at.X, Y: at.Y, R: at.R, Color: c, Width: 1.2, Cross: 6}
	g := s.Mouse().Hover()
	if s.Edits().Part() == part {
		r.Width = 1.8
	}
	if g.Part == part && g.Hold == session.Rim {
		r.Width = 2.8
	}
	r.Handle = g.Part == part && g.Hold == session.Centre
	return r
}

func dots(o session.Outline, c color.RGBA) []raster.Dot {
	var out []raster.Dot
	for _, e := range o.Edges {
		d := raster.Dot{X: e.X, Y: e.Y, Color: c, Rejected: e.Reject != ""}
		switch e.Reject {
		case "":
		case "no edge", "off the film": // no place of its own
			continue
		default:
			d.Color = onFilm.Fault
		}
		out = append(out, d)
	}
	return out
}

// addOther shows a second film, registered on the cup.
func addOther(sc *raster.Scene, s *session.Session, l layers) {
	mode, o := s.Viewer().Compare(), s.Viewer().Other()
	if mode == session.Alone || o == nil {
		return
	}
	c, ok := s.Viewer().Registered(o)
	if !ok {
		return
	}
	u := &raster.Under{Film: o.Pixels(), X: c.X, Y: c.Y, Zoom: c.Zoom, Greys: greys(o)}
	now := s.Strip().Selected().DateText()
	text := say("viewer.one-over-other", "Date", o.DateText(), "Now", now)
	switch mode {
	case session.Beside:
		half := float64(sc.Width) / 2
		u.Mix, u.Column, u.X = raster.Before, half, c.X+half/c.Zoom
		text = say("viewer.beside", "Date", o.DateText(), "Now", now)
	case session.Wipe:
		u.Mix, u.Column = raster.Before, l.column
		if l.column <= 0 { // the pointer has not been over the film yet
			u.Column = float64(sc.Width) / 2
		}
		text = say("viewer.wipe", "Date", o.DateText(), "Now", now)
	case session.Flicker:
		text = say("viewer.space-swaps", "Date", now)
		if l.swapped {
			u.Mix, text = raster.Only, say("viewer.space-swaps", "Date", o.DateText())
		} else {
			u = nil
		}
	}
	sc.Under = u
	sc.Marks = append(sc.Marks, raster.Mark{Text: say("viewer.registered", "Text", text)})
}

// addPenetration draws where the head was on the baseline film, carried over by
// the cup's centre, and the movement since.
func addPenetration(sc *raster.Scene, s *session.Session, f *session.Film) {
	dx, dy, length, ok := s.Course().MovedOnFilm(f)
	if !ok {
		return
	}
	head := f.Draft.Head.At
	faint := onFilm.Shift
	faint.A = 130
	sc.Rings = append(sc.Rings, raster.Ring{X: head.X - dx, Y: head.Y - dy, R: head.R, Color: faint, Width: 1, Ghost: true})
	sc.Arrows = append(sc.Arrows, raster.Arrow{
		X: head.X - dx, Y: head.Y - dy, DX: dx * arrowTimes, DY: dy * arrowTimes, Color: onFilm.Shift,
		Label: say("viewer.arrow", "MM", length, "Times", arrowTimes),
	})
}

// scaleBar returns a bar of a round length near 120 units of the screen.
func scaleBar(mmPerPixel, zoom, scale float64) raster.Bar {
	if !(mmPerPixel > 0) {
		return raster.Bar{}
	}
	want := 120 * scale / zoom * mmPerPixel
	best := 1.0
	for _, mm := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200} {
		if math.Abs(math.Log(mm/want)) < math.Abs(math.Log(best/want)) {
			best = mm
		}
	}
	return raster.Bar{Length: best / mmPerPixel, Label: say("viewer.scale-bar", "MM", best)}
}

func greys(f *session.Film) raster.Greys {
	return raster.Greys{Center: f.Level.Center, Window: f.Level.Width, Invert: f.Level.Invert}
}
