package reader

import (
	"math"
	"slices"
	"strings"

	"linerwatch/app/report"
	"linerwatch/app/report/paper"
	"linerwatch/app/study"
)

// value rounds by a standard error, as the tables of package report do.
func (p *page) value(v, se float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return p.signed(v, report.Decimals(se))
}

func (p *page) signed(v float64, decimals int) string { return p.v.Signed(v, decimals) }

// withSE is a value with its standard error.
func (p *page) withSE(v, se float64) string {
	if !(se > 0) || math.IsInf(se, 0) {
		return p.value(v, 0)
	}
	return p.value(v, se) + " ± " + p.v.Fixed(se, report.Decimals(se))
}

// interval is a value with the ends of its 95 % interval.
func (p *page) interval(v, lo, hi float64, has bool) string {
	if !has {
		return p.signed(v, 3)
	}
	n := report.Decimals(math.Abs(hi-lo) / 4)
	if math.IsInf(hi-lo, 0) || math.IsNaN(hi-lo) {
		n = 3
	}
	end := func(v float64) string {
		if math.IsInf(v, 0) {
			return p.say("reader.open", nil)
		}
		return p.signed(v, n)
	}
	return p.say("reader.interval", study.Values{"Value": p.signed(v, n), "Lo": end(lo), "Hi": end(hi)})
}

// hip writes what is known of the hip and its implant, two facts a row.
func (p *page) hip() {
	h := p.r.Record.Hip
	m := h.Implant
	mm := func(v float64) string { return p.number(v, " mm") }
	joined := func(a, b string) string { return strings.TrimPrefix(strings.TrimSuffix(a+", "+b, ", "), ", ") }
	base := p.say("reader.baseline.earliest", nil)
	if h.Baseline != "" {
		base = p.say("reader.baseline.chosen", nil)
	}
	if p.r.untold == nil && len(p.r.trend.Penetration) > 0 {
		base = p.filmWords(p.r.trend.Baseline.ID) + ", " + base
	}
	facts := [][2]string{
		{p.say("reader.code", nil), h.ID}, {p.say("detail.side", nil), p.say("reader.side", study.Values{"Side": h.Side.String()})},
		{p.say("detail.surgery", nil), day(h.Surgery)}, {p.say("detail.group", nil), h.Group},
		{p.say("reader.head", nil), joined(mm(m.HeadMM), study.ChoiceIn(p.v.Say, "material", m.HeadMaterial))},
		{p.say("reader.liner", nil), joined(mm(m.LinerMM), study.ChoiceIn(p.v.Say, "polyethylene", m.PE))},
		{p.say("detail.shell", nil), mm(m.ShellMM)}, {p.say("detail.fixation", nil), study.ChoiceIn(p.v.Say, "fixation", m.Fixation)},
		{p.say("detail.start", nil), p.say("start.year", study.Values{"Years": h.Start()})}, {p.say("detail.beam", nil), p.beam()},
		{p.say("detail.baseline", nil), base}, {p.say("reader.counts", nil), study.RuleIn(p.v.Say, p.r.Reader)},
	}
	facts = append(facts, p.liner(m)...)
	for _, f := range [][2]string{{p.say("detail.age", nil), p.number(h.Age, "")}, {p.say("detail.site", nil), h.Site}} {
		if f[1] != "" {
			facts = append(facts, f)
		}
	}
	p.Heading(2, p.say("reader.hip", nil))
	var rows [][]string
	for pair := range slices.Chunk(facts, 2) {
		row := make([]string, 4)
		for i, f := range pair {
			if f[1] == "" {
				f[1] = p.say("reader.unknown", nil)
			}
			row[2*i], row[2*i+1] = f[0], f[1]
		}
		rows = append(rows, row)
	}
	p.Table([]paper.Column{{Share: 2.1, Faint: true}, {Share: 3}, {Share: 2.1, Faint: true}, {Share: 3}}, rows)
}

// liner are the facts of how a liner was made, and of its form where that is known.
func (p *page) liner(m study.Implant) [][2]string {
	facts := [][2]string{
		{p.say("detail.irradiated", nil), study.ChoiceIn(p.v.Say, "answer", string(m.Irradiated))}, {p.say("detail.dose", nil), p.number(m.DoseKGy, " kGy")},
		{p.say("detail.stabiliser", nil), study.ChoiceIn(p.v.Say, "stabiliser", m.Stabiliser)}, {p.say("detail.catalogue", nil), m.Catalogue},
	}
	for _, f := range [][2]string{{"detail.liner-inside", p.number(m.LinerInnerMM, " mm")}, {"detail.liner-outside", p.number(m.LinerOuterMM, " mm")},
		{"detail.lip", study.ChoiceIn(p.v.Say, "answer", string(m.Lipped))}} {
		if f[1] != "" {
			facts = append(facts, [2]string{p.say(f[0], nil), f[1]})
		}
	}
	return facts
}

// number writes a number with its unit, nothing where it is not known.
func (p *page) number(v float64, unit string) string {
	if v == 0 {
		return ""
	}
	return p.v.Number(v) + unit
}

// beam says what was done about the cone beam.
func (p *page) beam() string {
	switch {
	case p.r.Record.Hip.BeamOff:
		return p.say("beam.off", nil)
	case p.r.trend.Method.Beam:
		return p.say("reader.beam.done", nil)
	}
	return p.say("reader.beam.none", nil)
}

// laterSeries says what the films from after each exchange tell by themselves.
func (p *page) laterSeries() (lines []string) {
	for _, l := range p.r.Record.Summary(p.r.Reader).Series {
		said := study.NoteIn(p.v.Say, l.Why)
		if f := l.Fit; f != nil {
			said = p.say("reader.rate", nil) + " " + p.interval(f.Rate, f.Lo95, f.Hi95, f.HasInterval) + " " + p.say("reader.mm-year", nil)
		}
		lines = append(lines, p.say("reader.series.told", study.Values{"From": day(l.From), "N": float64(l.Read), "Told": said}))
	}
	return lines
}

// result writes the rate, what it rests on, the course and the models beside it.
func (p *page) result() {
	t := p.r.trend
	if p.r.untold != nil || len(t.Penetration) == 0 {
		return
	}
	p.Heading(2, p.say("reader.result", nil))
	p.Table([]paper.Column{{Share: 2.1, Faint: true}, {Share: 8}}, p.figures())
	if len(t.Penetration) > 1 {
		p.course()
	}
	p.models()
	p.list("reader.series", p.laterSeries())
	p.list("reader.weakens", p.weakens())
}

// weakens says what weakens the trend, each thing once.
func (p *page) weakens() (out []string) {
	t := p.r.trend
	notes := append([]study.Note{t.WhyNoRate()}, t.Warnings...)
	if m := t.SteadyLine(study.Superior); m.Fitted {
		notes = append(notes, m.Note, t.Settling().Note(t.Fit))
	}
	for _, n := range notes {
		if text := study.NoteIn(p.v.Say, n); !n.IsZero() && !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return out
}

// list writes sentences below a heading, nothing where there are none.
func (p *page) list(heading string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.Heading(3, p.say(heading, nil))
	for _, l := range lines {
		p.Text("– " + l)
	}
}

// figures are the numbers of the result with their names.
func (p *page) figures() (rows [][]string) {
	t := p.r.trend
	f, last := t.Fit, t.Penetration[len(t.Penetration)-1]
	add := func(key, text string) { rows = append(rows, []string{p.say(key, nil), text}) }
	if f != nil {
		add("reader.rate", p.interval(f.Rate, f.Lo95, f.Hi95, f.HasInterval)+" "+p.say("reader.mm-year", nil))
		add("reader.rests", p.rests())
		if f.HasBedding {
			add("reader.bedding", p.interval(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, f.HasInterval)+" mm")
		} else {
			add("reader.bedding", p.say("quantity.no-bedding", nil))
		}
		if f.HasFirstToLast {
			add("reader.first-to-last", p.value(f.FirstToLast, f.SE)+" "+p.say("reader.mm-year", nil))
		}
	} else {
		add("reader.rate", p.say("reader.none", nil))
	}
	if len(t.Penetration) > 1 && last.Film.ID != t.Baseline.ID {
		sup, med := last.SE()
		add("reader.penetration", p.say("reader.penetration.is", study.Values{"Film": p.filmWords(last.Film.ID),
			"Superior": p.withSE(last.Superior, sup), "Medial": p.withSE(last.Medial, med)}))
		if mm := t.Hip.Implant.LinerMM; mm > 0 {
			add("reader.left", p.say("reader.left.is", study.Values{"Nominal": p.v.Number(mm), "Left": p.withSE(mm-last.Superior, sup)}))
		}
	}
	return rows
}

// rests says of how many films and of which errors the rate's interval is made.
func (p *page) rests() string {
	f := p.r.trend.Fit
	said := study.Values{"Films": float64(f.Line.N), "Start": f.StartYears, "From": f.IntervalFrom, "Scatter": "", "Known": "", "Scale": ""}
	if m := p.r.trend.SteadyLine(study.Superior); f.HasInterval && len(m.Figures) > 0 {
		parts := m.Figures[0].Parts
		said["Scatter"], said["Known"], said["Scale"] = p.v.Fixed(parts.Scatter, 4), p.v.Fixed(parts.Known, 4), p.v.Fixed(parts.Scale, 4)
	}
	return p.say("reader.rests.on", said)
}
