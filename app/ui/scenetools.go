package ui

import (
	"image/color"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/raster"
)

// addLocal shows local contrast inside the cup.
func addLocal(sc *raster.Scene, s *session.Session, f *session.Film) {
	c, ok := s.Viewer().Local(f)
	if !ok {
		return
	}
	sc.Local = raster.Local{X: c.X, Y: c.Y, R: c.R}
	sc.Marks = append(sc.Marks, raster.Mark{Left: true, Top: true, Text: say("viewer.local-contrast-inside")})
}

// The loupe: its radius in units of the screen, and how many times it magnifies
// what the viewer shows.
const (
	loupeRadius = 96
	loupeTimes  = 3
)

func addLoupe(sc *raster.Scene, s *session.Session, f *session.Film) {
	_, p, ok := s.Viewer().Loupe()
	if !ok {
		return
	}
	x, y := f.Camera.ToView(p)
	r := loupeRadius * max(sc.Scale, 1)
	within := func(v, n float64) float64 { return min(max(v, r), max(n-r, r)) }
	sc.Loupe = &raster.Loupe{
		X: within(x, float64(sc.Width)), Y: within(y, float64(sc.Height)), At: [2]float64{x, y},
		R: loupeRadius, Times: loupeTimes,
	}
}

// addSketch shows the shape that is being drawn.
func addSketch(sc *raster.Scene, s *session.Session) {
	k := s.Mouse().Sketch()
	c := onFilm.Head
	switch {
	case k.Tool == session.LineTool:
		c = onFilm.Axis
	case k.Tool == session.RimTool || k.Part == session.Cup:
		c = onFilm.Cup
	}
	for _, p := range k.Points {
		sc.Handles = append(sc.Handles, raster.Handle{X: p.X, Y: p.Y, Color: c})
	}
	if k.Circle.R > 0 {
		sc.Rings = append(sc.Rings, raster.Ring{X: k.Circle.X, Y: k.Circle.Y, R: k.Circle.R, Color: c, Width: 1.2})
	} else if k.Line[0] != k.Line[1] {
		sc.Lines = append(sc.Lines, dashed(k.Line[0], k.Line[1], c))
	}
	if e := k.Ring; e.A > 0 && e.B > 0 {
		sc.Wires = append(sc.Wires, raster.Wire{Ellipse: raster.Ellipse(e), Color: c, Width: 1.2})
	}
}

func dashed(a, b session.FilmPoint, c color.RGBA) raster.Line {
	return raster.Line{AX: a.X, AY: a.Y, BX: b.X, BY: b.Y, Color: c, Width: 1.3, Dashed: true}
}

// addWire shows a wire ring, in place of the circle through its long axis.
func addWire(sc *raster.Scene, f *session.Film) {
	e := f.Draft.Cup.Outline().Ring
	if !(e.A > 0) {
		return
	}
	width := 1.2
	for i := range sc.Rings {
		if r := &sc.Rings[i]; r.Color == onFilm.Cup && !r.Ghost {
			width, r.Width = r.Width, 0
		}
	}
	sc.Wires = append(sc.Wires, raster.Wire{Color: onFilm.Cup, Width: width,
		Ellipse: raster.Ellipse(e)})
}

// addLines shows the reference line and the rim line.
func addLines(sc *raster.Scene, f *session.Film) {
	if l := f.Draft.Line; l.From == study.Drawn {
		sc.Lines = append(sc.Lines, dashed(l.A, l.B, onFilm.Axis))
		sc.Labels = append(sc.Labels, raster.Label{X: l.B.X, Y: l.B.Y, Text: say("viewer.reference-line"), Color: onFilm.Axis})
	}
	if r := f.Draft.Rim; r.Drawn() {
		text := say("viewer.rim")
		if e := r.Found; r.Proposed() {
			if text = say("viewer.rim-as-found"); f.Draft.RimLeft() {
				text = say("viewer.rim-found-before")
			}
			sc.Wires = append(sc.Wires, raster.Wire{Color: onFilm.Cup, Width: 1,
				Ellipse: raster.Ellipse(e)})
		}
		sc.Lines = append(sc.Lines, dashed(r.A, r.B, onFilm.Cup))
		sc.Labels = append(sc.Labels, raster.Label{X: r.B.X, Y: r.B.Y, Text: text, Color: onFilm.Cup})
	}
}

// addHandles shows by what outlines and lines can be held; the one under the
// pointer is grown.
func addHandles(sc *raster.Scene, s *session.Session) {
	under := s.Mouse().Hover()
	for _, h := range s.Mouse().Handles() {
		if h.Hold == session.Centre {
			continue // its cross is shown
		}
		c := onFilm.Head
		switch {
		case h.Hold == session.LineEnd:
			c = onFilm.Axis
		case h.Hold == session.RimEnd || h.Part == session.Cup:
			c = onFilm.Cup
		}
		sc.Handles = append(sc.Handles, raster.Handle{X: h.At.X, Y: h.At.Y, Color: c, Grown: h.Grip == under})
	}
	if p, ok := s.Mouse().HoverRim(); ok && !s.Mouse().Dragging() {
		c := onFilm.Head
		if under.Part == session.Cup {
			c = onFilm.Cup
		}
		sc.Handles = append(sc.Handles, raster.Handle{X: p.X, Y: p.Y, Color: c, Grown: true})
	}
}
