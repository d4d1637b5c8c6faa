package reader

import (
	"math"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// The size of a film's picture and of a residual strip, mm.
const pictureSide, stripHigh = 54, 19.5

// panels writes each film that was measured: its picture with the outlines, the residuals of
// their edges, and what is to be said of it.
func (p *page) panels() error {
	films := p.r.Shown()
	if len(films) == 0 {
		return nil
	}
	p.Need(pictureSide + 50) // heading and first film
	p.Heading(2, p.say("reader.pictures", nil))
	p.TextIn(paper.Style{Points: label, Ink: paper.Grey}, p.say("reader.pictures.about", nil))
	for _, m := range films {
		if err := p.panel(m); err != nil {
			return err
		}
	}
	return nil
}

// panel writes a film on one page: its picture beside words and strips.
func (p *page) panel(m study.Measurement) error {
	small := paper.Style{Points: 8.2}
	words := p.words(m)
	x, wide := p.Left()+pictureSide+5, p.Width()-pictureSide-5
	high := 0.
	for _, w := range words {
		high += p.Height(small, wide, w)
	}
	p.Need(max(pictureSide, high+2*stripHigh+6) + 9)
	p.Space(1.5)
	p.TextIn(paper.Style{Bold: true}, p.filmWords(m.Film.ID)+" · "+p.say("reader.at-years", study.Values{"Years": p.v.Fixed(p.r.Record.Hip.Years(m.Film.Date()), 2)}))
	y := p.Y()
	if err := p.picture(m, p.Left(), y); err != nil {
		return err
	}
	at := y
	for _, w := range words {
		at += p.Block(x, at, wide, small, w)
	}
	points := p.points(m)
	at = p.strip("head", points.Head, x, at+1.5, wide)
	at = p.strip("cup", points.Cup, x, at+1, wide)
	p.MoveTo(max(y+pictureSide, at) + 3)
	return nil
}

// words are what is to be said of a film beside its picture.
func (p *page) words(m study.Measurement) (out []string) {
	sup, med := m.Reading.Offset.SE()
	out = append(out, p.say("reader.offset", study.Values{"Superior": p.withSE(m.Reading.Offset.Superior, sup), "Medial": p.withSE(m.Reading.Offset.Medial, med)}))
	who, n := p.say("reader.nobody", nil), 1
	for _, e := range p.entries {
		if e.ID == m.Film.ID && e.State == study.FilmRead {
			who = p.say("reader.by", study.Values{"Reader": e.Reading.Reader, "At": moment(e.Reading.At), "Version": e.Reading.Version})
			n = len(e.Reading.IDs())
		}
	}
	out = append(out, who)
	if n > 1 {
		out = append(out, p.say("reader.mean", study.Values{"N": float64(n), "Points": len(p.points(m).Head.All) > 0}))
	}
	if g, ok := p.graded(m.Film.ID); ok {
		out = append(out, p.say("reader.graded", study.Values{"Grade": p.grade(g), "Why": study.ChoiceIn(p.v.Say, "grade", g.Reason), "Reader": g.Reader}))
	}
	for _, w := range study.Unique(m.Remarks()) {
		out = append(out, "– "+study.WarningIn(p.v.Say, w))
	}
	return out
}

// points are the edge points of the reading of a film that counts; of a mean those of its
// readings, each with its distance from the outline of its own.
func (p *page) points(m study.Measurement) study.Points {
	for _, e := range p.entries {
		if e.ID == m.Film.ID && e.Reading != nil {
			var all study.Points
			known := false
			for _, id := range e.Reading.IDs() {
				own, ok := p.r.Points[id]
				known, all = known || ok, all.And(own)
			}
			if known {
				return all
			}
		}
	}
	return study.Reading{Measurement: m}.Points()
}

// picture draws the part of a film around the hip with the outlines over it.
func (p *page) picture(m study.Measurement, x, y float64) error {
	pic, ok := p.r.pictures[m.Film.ID]
	if !ok || pic.Image == nil || !(pic.Zoom > 0) {
		p.Box(paper.Pen{Ink: paper.Rule, MM: 0.2, Fill: paper.Pale, Solid: true}, x, y, pictureSide, pictureSide)
		p.Block(x+4, y+pictureSide/2-4, pictureSide-8, paper.Style{Points: label, Ink: paper.Grey}, p.say("reader.no-picture", nil))
		return nil
	}
	b := pic.Image.Bounds()
	k := pictureSide / float64(max(b.Dx(), b.Dy()))
	w, h := float64(b.Dx())*k, float64(b.Dy())*k
	if err := p.Picture(pic.Image, x, y, w, h); err != nil {
		return err
	}
	k *= pic.Zoom
	place := func(q study.Pixel) (float64, float64) { return x + (q.X-pic.At.X)*k, y + (q.Y-pic.At.Y)*k }
	p.Clipped(x, y, w, h, func() {
		hx, hy := place(m.Head.Center())
		cx, cy := place(m.Cup.Center())
		for _, pen := range over(nil) {
			p.Disc(pen, hx, hy, m.Head.R*k)
		}
		for _, pen := range over([]float64{1.1, 0.8}) {
			if ring := m.Cup.Ring; ring.B > 0 {
				ex, ey := place(study.Pixel{X: ring.X, Y: ring.Y})
				p.Oval(pen, ex, ey, ring.A*k, ring.B*k, ring.Angle)
			} else {
				p.Disc(pen, cx, cy, m.Cup.R*k)
			}
			p.cross(pen, hx, hy, 1.1)
			p.cross(pen, cx, cy, 0.8)
		}
		if o, ok := m.Orientation(); ok && o.Found {
			ex, ey := place(study.Pixel{X: m.Rim.Found.X, Y: m.Rim.Found.Y})
			for _, pen := range over([]float64{0.3, 0.6}) {
				p.Oval(pen, ex, ey, m.Rim.Found.A*k, m.Rim.Found.B*k, m.Rim.Found.Angle)
			}
		}
	})
	return nil
}

// over are the pens of an outline over a film: dark on light, so that it shows on any grey.
func over(dash []float64) []paper.Pen {
	return []paper.Pen{{Ink: paper.White, MM: 0.5}, {Ink: paper.Black, MM: 0.24, Dash: dash}}
}

func (p *page) cross(pen paper.Pen, x, y, r float64) {
	pen.Dash = nil
	p.Crosses(pen, r, []paper.Point{{X: x, Y: y}})
}

// strip draws the residuals of an outline's edge points, px, by their angle from the top of
// the film, clockwise, and returns where it ends; outside is up.
func (p *page) strip(part string, e study.EdgePoints, x, y, w float64) float64 {
	title := p.say("reader.strip", study.Values{"Part": part, "Fitted": float64(len(e.Fitted)), "All": float64(len(e.All))})
	if len(e.All) == 0 {
		st := paper.Style{Points: label, Ink: paper.Grey}
		return y + p.Block(x, y, w, st, p.say("reader.no-strip", study.Values{"Part": part}))
	}
	most := 0.25
	for _, q := range e.All {
		if q.Reject == "" {
			most = max(most, math.Abs(q.Residual))
		}
	}
	most = paper.RoundUp(most)
	a := p.Axes(paper.Axes{X1: 360, Y0: -most, Y1: most, YName: title, XStep: 90, Points: 6.5, Mark: p.v.Say("number.mark", nil)}, x, y, w, stripHigh)
	p.Stroke(paper.Pen{Ink: paper.Black, MM: 0.2}, a.Place(0, 0), a.Place(360, 0))
	var kept, left []paper.Point
	for _, q := range e.All {
		if at := a.Place(math.Mod(q.Angle+450, 360), q.Residual); q.Reject == "" {
			kept = append(kept, at)
		} else {
			left = append(left, at)
		}
	}
	a.Within(func() {
		p.Crosses(paper.Pen{Ink: paper.Grey, MM: 0.12}, 0.4, left)
		p.Dots(paper.Black, 0.3, kept)
	})
	return y + stripHigh
}
