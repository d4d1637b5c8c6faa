package reader

import (
	"math"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// label is the size of letters in drawings.
const label = 8

var bandInk = paper.Ink{R: 0xd5, G: 0xdd, B: 0xe3}

// normal95 is the two-sided 95 % quantile of the normal distribution.
const normal95 = 1.959964

// The heights of the course and of its residuals, mm.
const courseHigh, leftHigh = 68, 34

// course draws the films with their reading errors, the line with the band of its mean, and
// below what is left of the films beside the line.
func (p *page) course() {
	p.Need(courseHigh + leftHigh + 2)
	t, line, y := p.r.trend, p.r.trend.SteadyCourse(), p.Y()
	a := paper.Axes{X1: math.Max(t.Penetration[len(t.Penetration)-1].Years*1.04, 1), XName: p.say("reader.years", nil), YName: p.say("reader.axis", nil), Points: label, YRoom: 9, Mark: p.v.Say("number.mark", nil)}
	a.Y0, a.Y1 = p.reach(line)
	a = p.Axes(a, p.Left(), y, p.Width(), courseHigh)
	a.Within(func() { p.band(a, line) })
	start := t.Hip.Start()
	if start < a.X1 {
		p.Stroke(paper.Pen{Ink: paper.Grey, MM: 0.25, Dash: []float64{0.4, 0.9}}, a.Place(start, a.Y0), a.Place(start, a.Y1))
		p.Put(a.Place(start, 0).X+1, a.Top()+3, paper.Style{Points: label, Ink: paper.Grey}, p.say("reader.steady", nil)+" ›")
	}
	for _, q := range t.Penetration {
		at := a.Place(q.Years, q.Superior)
		if se, _ := q.SE(); se > 0 {
			p.whisker(at.X, a.Place(0, q.Superior-normal95*se).Y, a.Place(0, q.Superior+normal95*se).Y)
		}
		p.dot(at, q.InLine)
		p.Put(at.X+1.4, at.Y+3, paper.Style{Points: label - 1, Ink: paper.Grey}, p.film(q.Film.ID))
	}
	p.MoveTo(y + courseHigh)
	if t.Fit != nil {
		p.residuals()
	}
	p.TextIn(paper.Style{Points: label, Ink: paper.Grey}, p.say("reader.course", study.Values{"Line": t.Fit != nil, "Band": t.Fit != nil && t.Fit.HasInterval}))
}

func (p *page) dot(at paper.Point, full bool) {
	pen := paper.Pen{Ink: paper.Black, MM: 0.3, Fill: paper.White, Solid: true}
	if full {
		pen.Fill = paper.Black
	}
	p.Disc(pen, at.X, at.Y, 0.9)
}

func (p *page) whisker(x, lo, hi float64) {
	pen := paper.Pen{Ink: paper.Black, MM: 0.2}
	p.Stroke(pen, paper.Point{X: x, Y: lo}, paper.Point{X: x, Y: hi})
	for _, y := range []float64{lo, hi} {
		p.Stroke(pen, paper.Point{X: x - 0.8, Y: y}, paper.Point{X: x + 0.8, Y: y})
	}
}

// reach is the range of the course, half a millimetre at least.
func (p *page) reach(line []study.CoursePoint) (lo, hi float64) {
	for _, q := range p.r.trend.Penetration {
		se, _ := q.SE()
		lo, hi = min(lo, q.Superior-normal95*se), max(hi, q.Superior+normal95*se)
	}
	for _, c := range line {
		if c.Told {
			lo, hi = min(lo, c.Lo), max(hi, c.Hi)
		}
	}
	room := 0.06 * max(hi-lo, 0.5)
	return lo - room, max(hi, lo+0.5) + room
}

func (p *page) band(a paper.Axes, line []study.CoursePoint) {
	a.Course(line, bandInk, paper.Pen{Ink: paper.Black, MM: 0.45})
	if f := p.r.trend.Fit; f != nil && f.HasBedding && len(line) > 0 {
		y, _ := f.Line.Mean(0)
		p.Stroke(paper.Pen{Ink: paper.Black, MM: 0.25, Dash: []float64{1.2, 1}}, a.Place(0, y), a.Place(line[0].Years, line[0].MM))
	}
}

// residuals draws how far the films of the line lie from it.
func (p *page) residuals() {
	t := p.r.trend
	a := paper.Axes{X1: math.Max(t.Penetration[len(t.Penetration)-1].Years*1.04, 1), YName: p.say("reader.residuals", nil), Points: label, YRoom: 9, Mark: p.v.Say("number.mark", nil)}
	at := map[string]float64{}
	most := 0.02
	for _, q := range t.Penetration {
		if q.InLine {
			y, _ := t.Fit.Line.Mean(q.Years)
			at[q.Film.ID] = q.Superior - y
			most = max(most, math.Abs(q.Superior-y))
		}
	}
	most = paper.RoundUp(most)
	a.Y0, a.Y1 = -most, most
	y := p.Y()
	a = p.Axes(a, p.Left(), y, p.Width(), leftHigh)
	p.Stroke(paper.Pen{Ink: paper.Black, MM: 0.25}, a.Place(0, 0), a.Place(a.X1, 0))
	for _, q := range t.Penetration {
		if v, ok := at[q.Film.ID]; ok {
			p.Stroke(paper.Pen{Ink: paper.Grey, MM: 0.2}, a.Place(q.Years, 0), a.Place(q.Years, v))
			p.dot(a.Place(q.Years, v), true)
		}
	}
	p.MoveTo(y + leftHigh)
}

// models writes every model of the course beside the line.
func (p *page) models() {
	var rows [][]string
	for _, m := range p.r.trend.Models(study.Superior) {
		rate, aicc := "–", "–"
		if m.Fitted {
			rate = p.interval(m.Rate, m.Lo95, m.Hi95, m.HasInterval)
		}
		if m.HasAICc {
			aicc = p.signed(m.AICc, 1)
		}
		rows = append(rows, []string{p.say(m.Title, nil), p.say("reader.models.films", study.Values{"N": float64(m.Films)}), rate, aicc, study.NoteIn(p.v.Say, m.Note)})
	}
	p.Need(30) // heading and first rows
	p.Heading(3, p.say("reader.models", nil))
	p.Table([]paper.Column{{Title: p.say("reader.model", nil), Share: 2.4}, {Title: p.say("reader.films", nil), Share: 1, Right: true},
		{Title: p.say("reader.rate.column", nil), Share: 3}, {Title: "AICc", Share: 1, Right: true}, {Title: p.say("reader.note", nil), Share: 4}}, rows)
}
