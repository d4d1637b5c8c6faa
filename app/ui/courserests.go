package ui

import (
	"fmt"
	"math"

	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// restRows says what the rate of the line rests on: other starts of the steady
// state, and each film left out in turn. The film that moves the rate most is
// marked.
func (p *coursePage) restRows(t study.Trend) []widgets.Figure {
	s := t.Sensitivity(p.w.course.what)
	rows := []widgets.Figure{{Name: say("page.trend.another-start"), Head: true, Extra: say("page.trend.films-column")}}
	for _, v := range s.Starts {
		f := variedFigure(v)
		f.Name = say("page.trend.from-year", "Year", v.Start, "Name", f.Name)
		f.Extra = fmt.Sprint(v.Films)
		if v.Start == t.Hip.Start() {
			f.Color = widgets.Accent
		}
		rows = append(rows, f)
	}
	rows = append(rows, widgets.Figure{Name: say("page.trend.without-one"), Head: true, Extra: say("page.trend.change")})
	if !s.Note.IsZero() {
		return append(rows, widgets.Figure{Name: study.NoteWords(s.Note)})
	}
	most := 0.0
	for _, v := range s.Films {
		most = max(most, math.Abs(v.Shift))
	}
	for _, v := range s.Films {
		f := variedFigure(v)
		f.Name = p.filmNumber(v.Left) + f.Name
		if v.Note.IsZero() {
			f.Extra = withSign(v.Shift)
			if math.Abs(v.Shift) == most {
				f.Color = widgets.Watch
			}
		}
		rows = append(rows, f)
	}
	return rows
}

// variedFigure is the rate; its name holds the interval.
func variedFigure(v study.Varied) widgets.Figure {
	if !v.Note.IsZero() {
		return widgets.Figure{Name: ": " + study.NoteWords(v.Note)}
	}
	return widgets.Figure{Value: signed(v.Rate, 3)}
}

// filmNumber names a film as the strip does.
func (p *coursePage) filmNumber(id string) string {
	for i, f := range p.w.s.Strip().Films() {
		if f.ID == id {
			return say("page.trend.film", "N", i+1, "Years", yearsText(p.w.s, f))
		}
	}
	return say("page.trend.a-film")
}

// withSign writes a change with its sign.
func withSign(v float64) string {
	if text := signed(v, 3); v < 0 || text == signed(0, 3) {
		return text
	}
	return "+" + signed(v, 3)
}
