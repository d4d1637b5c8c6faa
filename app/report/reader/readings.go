package reader

import (
	"math"
	"strconv"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// readings writes the numbers of all films: where the head lies and has moved, and how the
// film was read.
func (p *page) readings() {
	films := p.r.Shown()
	if len(films) == 0 {
		return
	}
	p.Heading(2, p.say("reader.readings", nil))
	if p.r.untold == nil {
		p.penetrations()
	}
	p.offsets(films)
	p.quality(films)
	p.TextIn(paper.Style{Points: label, Ink: paper.Grey}, p.say("reader.readings.about", nil))
}

func (p *page) penetrations() {
	t := p.r.trend
	var rows [][]string
	for _, q := range t.Penetration {
		sup, med := q.SE()
		length, se := q.Magnitude()
		direction := "–"
		if length > 0 {
			direction = p.signed(q.Direction(), 0)
		}
		in := p.say("reader.no", nil)
		if q.InLine {
			in = p.say("reader.yes", nil)
		}
		row := []string{p.film(q.Film.ID), day(q.Film.Date()), p.v.Fixed(q.Years, 2), p.withSE(q.Superior, sup), p.withSE(q.Medial, med), p.value(length, se), direction, in}
		if q.Film.ID == t.Baseline.ID {
			row[3], row[4], row[5] = p.say("reader.is-baseline", nil), "–", "–"
		}
		rows = append(rows, row)
	}
	p.Heading(3, p.say("reader.moved", nil))
	p.Table([]paper.Column{{Title: p.say("reader.film.column", nil), Share: 0.8}, {Title: p.say("reader.date", nil), Share: 1.7}, {Title: p.say("reader.years.column", nil), Share: 1, Right: true},
		{Title: "superior ± SE", Share: 2, Right: true}, {Title: "medial ± SE", Share: 2, Right: true}, {Title: p.say("reader.length", nil), Share: 1.3, Right: true},
		{Title: p.say("reader.direction", nil), Share: 1.3, Right: true}, {Title: p.say("reader.in-line", nil), Share: 1.4, Right: true}}, rows)
}

func (p *page) offsets(films []study.Measurement) {
	var rows [][]string
	for _, m := range films {
		r := m.Reading
		sup, med := r.Offset.SE()
		incl, version := "–", "–"
		if o, ok := m.Orientation(); ok {
			incl = p.withSE(o.Inclination, o.SEInclination)
			if o.Version {
				version = p.withSE(o.Anteversion, o.SEAnteversion)
			}
		}
		rows = append(rows, []string{p.film(m.Film.ID), p.withSE(r.Offset.Superior, sup), p.withSE(r.Offset.Medial, med),
			p.withSE(r.Eccentricity, r.SEEccentricity), p.withSE(r.Thinnest, r.SEThinnest), incl, version})
	}
	p.Heading(3, p.say("reader.where", nil))
	p.Table([]paper.Column{{Title: p.say("reader.film.column", nil), Share: 0.8}, {Title: "superior ± SE", Share: 2, Right: true}, {Title: "medial ± SE", Share: 2, Right: true},
		{Title: p.say("reader.eccentricity", nil), Share: 2, Right: true}, {Title: p.say("reader.thinnest", nil), Share: 2, Right: true},
		{Title: p.say("reader.inclination", nil), Share: 1.8, Right: true}, {Title: p.say("reader.anteversion", nil), Share: 1.8, Right: true}}, rows)
}

// quality writes how well the outlines show on each film.
func (p *page) quality(films []study.Measurement) {
	var rows [][]string
	for _, m := range films {
		magnified := "–"
		if s := m.Film.Facts.SpacingMM; s > 0 && m.Reading.Scale > 0 {
			magnified = p.v.Fixed(s/m.Reading.Scale, 3)
		}
		row := []string{p.film(m.Film.ID), magnified, p.v.Fixed(m.Reading.Scale, 4)}
		for _, o := range []study.Outline{m.Head, m.Cup} {
			row = append(row, p.v.Fixed(o.Arc, 0), p.v.Fixed(o.RMS, 2), p.contrast(o))
		}
		rows = append(rows, append(row, p.lined(m)))
	}
	p.Heading(3, p.say("reader.quality", nil))
	part := func(key, of string) string { return p.say(key, study.Values{"Part": of}) }
	p.Table([]paper.Column{{Title: p.say("reader.film.column", nil), Share: 0.8}, {Title: p.say("reader.magnification", nil), Share: 1.6, Right: true}, {Title: "mm/px", Share: 1.1, Right: true},
		{Title: part("reader.arc", "head"), Share: 1.2, Right: true}, {Title: part("reader.rms", "head"), Share: 1.2, Right: true}, {Title: part("reader.contrast", "head"), Share: 1.3, Right: true},
		{Title: part("reader.arc", "cup"), Share: 1.2, Right: true}, {Title: part("reader.rms", "cup"), Share: 1.2, Right: true}, {Title: part("reader.contrast", "cup"), Share: 1.3, Right: true},
		{Title: p.say("reader.line", nil), Share: 1.6, Right: true}}, rows)
}

// contrast is that of an outline's edge; one drawn by hand has none.
func (p *page) contrast(o study.Outline) string {
	if o.Contrast == 0 || math.IsNaN(o.Contrast) {
		return "–"
	}
	return strconv.Itoa(int(math.Round(o.Contrast)))
}

// lined is the angle of the reference line that a reading is turned by.
func (p *page) lined(m study.Measurement) string {
	if !m.How.Line {
		return "–"
	}
	return p.withSE(m.Line.Alpha, m.Line.SE)
}
