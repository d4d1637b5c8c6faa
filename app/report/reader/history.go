package reader

import (
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// history writes who read what and when, which films were left out, and what was corrected.
func (p *page) history() {
	p.Heading(2, p.say("reader.history", nil))
	p.allReadings()
	p.standings()
	p.list("reader.grades", p.grades())
	p.list("reader.left-out", p.exclusions())
	p.list("reader.corrections", p.corrections())
	p.list("reader.film-corrections", p.filmCorrections())
	p.Heading(3, p.say("reader.files", nil))
	var rows [][]string
	for _, e := range p.entries {
		rows = append(rows, []string{p.film(e.ID), day(e.Date()), e.Name(), e.Facts.SHA256})
	}
	p.Table([]paper.Column{{Title: p.say("reader.film.column", nil), Share: 0.75}, {Title: p.say("reader.date", nil), Share: 1.2},
		{Title: p.say("reader.file", nil), Share: 2.7}, {Title: "SHA-256", Share: 7.2}}, rows)
}

// allReadings writes every reading of every reader, oldest first.
func (p *page) allReadings() {
	if len(p.r.Record.Readings) == 0 {
		p.Text(p.say("reader.no-readings", nil))
		return
	}
	var rows [][]string
	for _, g := range p.r.Record.Readings {
		said := string(g.Status)
		if m := g.For(p.r.Record.Hip); m.Status == study.Measured {
			sup, med := m.Reading.Offset.SE()
			said = p.withSE(m.Reading.Offset.Superior, sup) + "; " + p.withSE(m.Reading.Offset.Medial, med)
		} else if !m.Reason.IsZero() {
			said = study.NoteIn(p.v.Say, m.Reason)
		}
		rows = append(rows, []string{p.film(g.FilmID), g.Reader, moment(g.At), said, p.standing(g) + p.listed(g.Listed), g.Version})
	}
	p.Heading(3, p.say("reader.all", nil))
	p.Table([]paper.Column{{Title: p.say("reader.film.column", nil), Share: 0.8}, {Title: p.say("reader.reader", nil), Share: 1.2}, {Title: p.say("reader.at", nil), Share: 2.1},
		{Title: p.say("reader.offset.column", nil), Share: 2.8}, {Title: p.say("reader.standing", nil), Share: 3.3}, {Title: p.say("reader.version", nil), Share: 1.2}}, rows)
}

// standing says what became of a reading.
func (p *page) standing(g study.Reading) string {
	if w := g.Withdrawn; w != nil {
		return p.say("reader.withdrawn", study.Values{"Reader": w.Reader, "At": moment(w.At)})
	}
	for _, later := range p.r.Record.Readings {
		if later.Supersedes == g.ID && later.Stands() {
			return p.say("reader.replaced", study.Values{"Reader": later.Reader})
		}
	}
	for _, e := range p.entries {
		switch {
		case e.ID != g.FilmID || !e.Counts(g.ID):
		case e.State == study.FilmExcluded:
			return p.say("reader.kept-out", nil)
		case e.State == study.FilmLater:
			return p.say("standing.later-series", nil)
		case len(e.Reading.Of) > 0:
			return p.say("reader.counts.in-mean", nil)
		default:
			return p.say("reader.counts.this", nil)
		}
	}
	return p.say("reader.kept", nil)
}

// listed says at which place of a reading list a reading was made, nothing of others.
func (p *page) listed(l study.Listed) string {
	if l.List == "" {
		return ""
	}
	return "; " + p.say("reader.listed", study.Values{"Kind": string(l.Kind), "Place": float64(l.Place), "Occasion": float64(l.Occasion), "Start": string(l.Start), "Untouched": l.Untouched})
}

// events says what happened to the hip, in order of date; what was entered by mistake is said to be.
func (p *page) events() (lines []string) {
	all := p.r.Record.Events
	list := slices.Clone(all)
	slices.SortStableFunc(list, func(a, b study.Event) int { return a.Date.Compare(b.Date) })
	for _, e := range list {
		if e.TakesBack != "" {
			continue
		}
		var parts []string
		for _, d := range (study.Hip{Implant: e.Implant}).SinceIn(p.v.Say, study.Hip{}, p.filmWords) {
			parts = append(parts, d.Name+" "+d.Now)
		}
		back := slices.ContainsFunc(all, func(later study.Event) bool { return later.TakesBack == e.ID })
		lines = append(lines, p.say("reader.event", study.Values{"Date": day(e.Date), "What": study.EventIn(p.v.Say, e.Kind), "Implant": strings.Join(parts, ", "),
			"Note": e.Note, "Reader": e.Reader, "At": moment(e.At), "Back": back}))
	}
	return lines
}

// grades says how readers graded the films, oldest first.
func (p *page) grades() (lines []string) {
	for _, g := range p.r.Record.Grades {
		lines = append(lines, p.say("reader.grade", study.Values{"At": moment(g.At), "Reader": g.Reader, "Film": p.filmWords(g.FilmID),
			"Grade": p.grade(g), "Why": study.ChoiceIn(p.v.Say, "grade", g.Reason), "Note": g.Note}))
	}
	return lines
}

func (p *page) grade(g study.Grade) string {
	return study.ChoiceIn(p.v.Say, "grade", strings.ToLower(g.Quality))
}

// graded returns the grade that holds of a film: that of the reader whose reading counts, else the latest.
func (p *page) graded(filmID string) (out study.Grade, ok bool) {
	reader := ""
	for _, e := range p.entries {
		if e.ID == filmID && e.Reading != nil {
			reader = e.Reading.Reader
		}
	}
	for _, g := range p.r.Record.Grades {
		if g.FilmID == filmID && (out.Reader != reader || g.Reader == reader) {
			out, ok = g, true
		}
	}
	return out, ok
}

// standings says how films stand of which no reading counts.
func (p *page) standings() {
	var lines []string
	for _, e := range p.entries {
		if e.State == study.FilmRead || e.State == study.FilmExcluded {
			continue
		}
		s, why := p.r.Record.StandingOf(e)
		text := p.filmWords(e.ID) + ": " + study.NoteIn(p.v.Say, s.Note())
		if !why.IsZero() {
			text += ": " + study.NoteIn(p.v.Say, why)
		}
		lines = append(lines, text)
	}
	p.list("reader.not-counting", lines)
}

// exclusions are the decisions to leave films out and to take them in again.
func (p *page) exclusions() (lines []string) {
	for _, e := range p.r.Record.Exclusions {
		said := study.Values{"Film": p.filmWords(e.FilmID), "Reader": e.Reader, "At": moment(e.At), "Why": study.ChoiceIn(p.v.Say, "exclusion", e.Code), "Note": e.Note}
		lines = append(lines, p.say("reader.exclusion", said))
	}
	return lines
}

// corrections are the changes of implant and dates, each with who made it.
func (p *page) corrections() (lines []string) {
	after := p.r.Record.Hip
	for i := len(p.r.Changes) - 1; i >= 0; i-- {
		c := p.r.Changes[i]
		if c.Before.ID != "" {
			for _, d := range after.SinceIn(p.v.Say, c.Before, p.filmWords) {
				lines = append(lines, p.say("reader.correction", study.Values{"At": moment(c.At), "Reader": c.Reader, "What": d.In(p.v.Say)}))
			}
		}
		after = c.Before
	}
	return lines
}

// filmCorrections are the changes of what readers say of films in place of their files.
func (p *page) filmCorrections() (lines []string) {
	for _, e := range p.entries {
		after, changes := e.Film, p.r.FilmChanges[e.ID]
		for i := len(changes) - 1; i >= 0; i-- {
			c := changes[i]
			now, was := p.given(after), p.given(c.Before)
			for k, what := range []string{"date", "view", "source", "ray", "axes"} {
				if c.Before.ID != "" && now[k] != was[k] {
					lines = append(lines, p.say("reader.film-correction", study.Values{"At": moment(c.At), "Reader": c.Reader,
						"Film": p.filmWords(e.ID), "What": what, "Now": now[k], "Was": was[k]}))
				}
			}
			after = c.Before
		}
	}
	return lines
}

// given is what a reader says of a film, in words; empty where the file's word stands.
func (p *page) given(f study.Film) (out [5]string) {
	g := f.Given
	if !g.Date.IsZero() {
		out[0] = day(g.Date)
	}
	out[1] = string(g.View)
	if g.SourceMM > 0 {
		out[2] = p.v.Number(g.SourceMM) + " mm"
	}
	if g.Center != nil {
		out[3] = p.v.Fixed(g.Center.X, 1) + "; " + p.v.Fixed(g.Center.Y, 1) + " px"
	}
	if g.Axes != (study.Axes{}) {
		out[4] = g.Axes.Head + "," + g.Axes.Front + "," + p.v.Number(g.Axes.Obliquity)
	}
	return out
}

// signHigh is the height of the place for a signature with the room above it, mm.
const signHigh = 22

// end writes by what the report was made, its cautions, and a place for a signature.
func (p *page) end() {
	p.Heading(2, p.say("reader.made", nil))
	p.Text(p.say("reader.method", study.Values{"Beam": p.r.trend.Method.Beam, "Line": p.r.trend.Method.Line}))
	p.Text(p.say("reader.program", study.Values{"Program": p.print.Program, "At": moment(p.print.Date), "Films": strconv.Itoa(len(p.entries))}))
	caution := p.say("reader.caution", nil)
	p.Need(p.Height(paper.Style{}, p.Width(), caution) + signHigh) // the place to sign is never alone on a page
	p.Text(caution)
	p.Space(14)
	y, wide := p.Y(), p.Width()
	for i, key := range []string{"reader.signed", "reader.signed-on"} {
		x, w := p.Left()+float64(i)*0.65*wide, 0.6*wide
		if i == 1 {
			w = 0.35 * wide
		}
		p.Stroke(paper.Pen{Ink: paper.Black, MM: 0.2}, paper.Point{X: x, Y: y}, paper.Point{X: x + w, Y: y})
		p.Block(x, y+0.6, w, paper.Style{Points: label, Ink: paper.Grey}, p.say(key, nil))
	}
	p.MoveTo(y + 6)
}
