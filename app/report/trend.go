package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"

	"linerwatch/app/study"
)

type trendJSON struct {
	Films       []filmJSON        `json:"films"`
	Penetration []penetrationJSON `json:"penetration"`
	Fit         *fitJSON          `json:"fit"`
	Warnings    []string          `json:"warnings"`
	Baseline    *string           `json:"baseline"`
	Liner       *linerJSON        `json:"liner"`
	Lateral     []filmJSON        `json:"lateral_films"`
	Spatial     []spatialJSON     `json:"spatial"`
}

type penetrationJSON struct {
	Film        string `json:"film"`
	Years       num    `json:"years"`
	Superior    num    `json:"superior_mm"`
	Medial      num    `json:"medial_mm"`
	Magnitude   num    `json:"magnitude_mm"`
	Direction   num    `json:"direction_deg"`
	SESuperior  num    `json:"se_superior_mm"`
	SEMedial    num    `json:"se_medial_mm"`
	SEMagnitude num    `json:"se_magnitude_mm"`
	changeJSON
}

type fitJSON struct {
	Model        string  `json:"model"`
	N            int     `json:"n"`
	Rate         num     `json:"rate_mm_per_year"`
	SE           num     `json:"se"`
	Lo95         num     `json:"lo95"`
	Hi95         num     `json:"hi95"`
	BeddingIn    num     `json:"bedding_in_mm"`
	BeddingLo95  num     `json:"bedding_in_lo95"`
	BeddingHi95  num     `json:"bedding_in_hi95"`
	StartYears   num     `json:"start_years"`
	IntervalFrom *string `json:"interval_from"`
	Along        string  `json:"along"` // the direction whose component is fitted
	FirstToLast  num     `json:"first_to_last_mm_per_year"`
}

// linerJSON is the nominal liner and what the signed penetration leaves of it
// on the last film.
type linerJSON struct {
	Nominal     num `json:"nominal_mm"`
	Remaining   num `json:"remaining_mm"`
	SERemaining num `json:"se_remaining_mm"`
}

// Trend writes a hip's films, penetration and steady-state line.
func Trend(w io.Writer, format Format, t study.Trend) error {
	switch format {
	case JSON:
		return writeJSON(w, trendOf(t))
	case CSV:
		return writeCSV(w, trendRows(t))
	}
	return trendText(w, t)
}

func trendOf(t study.Trend) trendJSON {
	out := trendJSON{Films: filmsJSON(t.Films), Penetration: []penetrationJSON{},
		Fit: fitOf(t.Fit), Warnings: study.NotesWords(t.Warnings), Baseline: text(t.Baseline.Path), Liner: linerOf(t),
		Lateral: filmsJSON(t.Lateral), Spatial: spatialsOf(t)}
	change := changesOf(t)
	for _, p := range t.Penetration {
		out.Penetration = append(out.Penetration, penetrationOf(p, change(p.Film)))
	}
	return out
}

// changesOf returns what a film of the trend says against the baseline film.
func changesOf(t study.Trend) func(study.Film) changeJSON {
	of := map[string]changeJSON{}
	for _, c := range t.Changes() {
		of[c.Film.ID+c.Film.Path] = changeOf(c)
	}
	return func(f study.Film) changeJSON {
		if c, ok := of[f.ID+f.Path]; ok {
			return c
		}
		return noChange
	}
}

func penetrationOf(p study.Penetration, c changeJSON) penetrationJSON {
	length, se := p.Magnitude()
	sup, med := p.SE()
	out := penetrationJSON{
		Film: p.Film.Path, Years: num(p.Years), Superior: num(p.Superior), Medial: num(p.Medial),
		Magnitude: num(length), Direction: none, SESuperior: num(sup), SEMedial: num(med), SEMagnitude: num(se), changeJSON: c,
	}
	if length > 0 {
		out.Direction = num(p.Direction())
	}
	return out
}

func fitOf(f *study.TrendFit) *fitJSON {
	if f == nil {
		return nil
	}
	out := &fitJSON{
		Model: "line", N: f.Line.N, Rate: num(f.Rate), SE: none, Lo95: none, Hi95: none,
		BeddingIn: none, BeddingLo95: none, BeddingHi95: none,
		StartYears: num(f.StartYears), Along: "superior", FirstToLast: none,
	}
	if f.HasInterval {
		out.SE, out.Lo95, out.Hi95 = num(f.SE), num(f.Lo95), num(f.Hi95)
		out.IntervalFrom = text(f.IntervalFrom)
	}
	if f.HasBedding {
		out.BeddingIn = num(f.BeddingIn)
		if f.HasInterval {
			out.BeddingLo95, out.BeddingHi95 = num(f.BeddingLo95), num(f.BeddingHi95)
		}
	}
	if f.HasFirstToLast {
		out.FirstToLast = num(f.FirstToLast)
	}
	return out
}

func linerOf(t study.Trend) *linerJSON {
	thickness := t.Hip.Implant.LinerMM
	if !(thickness > 0) {
		return nil
	}
	out := &linerJSON{num(thickness), none, none}
	if n := len(t.Penetration); n > 0 {
		last := t.Penetration[n-1]
		se, _ := last.SE()
		out.Remaining, out.SERemaining = num(thickness-last.Superior), num(se)
	}
	return out
}

var fitColumns = []string{
	"fit_model", "fit_n", "rate_mm_per_year", "se_rate_mm_per_year", "rate_lo95_mm_per_year", "rate_hi95_mm_per_year",
	"bedding_in_mm", "bedding_in_lo95_mm", "bedding_in_hi95_mm", "start_years", "interval_from", "along",
	"first_to_last_mm_per_year",
}

func fitCells(f *fitJSON) []string {
	if f == nil {
		return make([]string, len(fitColumns))
	}
	from := ""
	if f.IntervalFrom != nil {
		from = *f.IntervalFrom
	}
	return []string{f.Model, strconv.Itoa(f.N), f.Rate.cell(), f.SE.cell(), f.Lo95.cell(), f.Hi95.cell(),
		f.BeddingIn.cell(), f.BeddingLo95.cell(), f.BeddingHi95.cell(), f.StartYears.cell(), from, f.Along,
		f.FirstToLast.cell()}
}

// trendRows has a row per film; the columns of the line repeat in every row.
func trendRows(t study.Trend) [][]string {
	head := []string{"film", "date", "side", "status", "reason", "years", "superior_mm", "medial_mm",
		"magnitude_mm", "direction_deg", "se_superior_mm", "se_medial_mm"}
	rows := [][]string{slices.Concat(head, fitColumns, changeColumns, spatialColumns)}
	change := changesOf(t)
	fit := fitCells(fitOf(t.Fit))
	for _, m := range t.Films {
		row := []string{m.Film.Path, day(m.Film.Date()), m.Side.String(), string(m.Status), study.NoteWords(m.Reason)}
		p := penetrationJSON{"", none, none, none, none, none, none, none, none, noChange}
		for _, q := range t.Penetration {
			if q.Film.Path == m.Film.Path {
				p = penetrationOf(q, change(q.Film))
			}
		}
		row = append(row, p.Years.cell(), p.Superior.cell(), p.Medial.cell(), p.Magnitude.cell(),
			p.Direction.cell(), p.SESuperior.cell(), p.SEMedial.cell())
		rows = append(rows, slices.Concat(row, fit, changeCells(p.changeJSON), spatialCells(t, m.Film)))
	}
	return rows
}

func trendText(w io.Writer, t study.Trend) error {
	title := fmt.Sprintf("%s hip, surgery %s, head %g mm", t.Hip.Side, day(t.Hip.Surgery), t.Hip.Implant.HeadMM)
	if t.Baseline.Path != "" {
		title += ", baseline " + shortNames(trendFilms(t))(t.Baseline)
	}
	if err := writeLines(w, title, ""); err != nil {
		return err
	}
	if len(t.Penetration) == 0 {
		return writeLines(w, slices.Concat([]string{"no penetration and no rate from these films"}, trendNotes(t), []string{"", Caution()})...)
	}
	if err := penetrationGrid(t).write(w); err != nil {
		return err
	}
	lines := append([]string{""}, fitLines(t)...)
	lines = append(lines, spatialLines(t)...)
	if more, notes := changeGrid(t); len(more.rows) > 0 {
		if err := writeLines(w, ""); err != nil {
			return err
		}
		if err := more.write(w); err != nil {
			return err
		}
		lines = append(lines, notes...)
	}
	return writeLines(w, append(append(lines, trendNotes(t)...), "", plusMinus, Caution())...)
}

// trendNotes are the notes on the films and their series.
func trendNotes(t study.Trend) (lines []string) {
	if t.Method.Beam {
		lines = append(lines, "note: every film: corrected for off-axis projection")
	}
	lines = append(lines, warningNotes(t.Films)...)
	for _, s := range study.NotesWords(t.Warnings) {
		lines = append(lines, "note: "+s)
	}
	return lines
}

func trendFilms(t study.Trend) []study.Film {
	var films []study.Film
	for _, m := range slices.Concat(t.Films, t.Lateral) {
		films = append(films, m.Film)
	}
	return films
}

func penetrationGrid(t study.Trend) *grid {
	var sup, med, mag []float64
	for _, p := range t.Penetration {
		s, d := p.SE()
		_, l := p.Magnitude()
		sup, med, mag = append(sup, s), append(med, d), append(mag, l)
	}
	supC, medC, magC := columnFor(sup), columnFor(med), columnFor(mag)
	name := shortNames(trendFilms(t))
	g := newGrid("<film", "<date", "years", "superior mm", "medial mm", "magnitude mm", "direction deg", "<in the line")
	for _, p := range t.Penetration {
		s, d := p.SE()
		length, _ := p.Magnitude()
		direction, used := "-", "no"
		if length > 0 {
			direction = unsignZero(strconv.FormatFloat(p.Direction(), 'f', 0, 64))
		}
		if p.InLine {
			used = "yes"
		}
		g.add(name(p.Film), day(p.Film.Date()), fmt.Sprintf("%.2f", p.Years),
			supC.withSE(p.Superior, s), medC.withSE(p.Medial, d), magC.value(length), direction, used)
	}
	return g
}

// fitLines says in words what the line gives.
func fitLines(t study.Trend) []string {
	f := t.Fit
	if f == nil {
		return []string{"steady-state rate: none; the notes say why"}
	}
	from := map[string]string{"readings": ", interval from the readings' standard errors"}[f.IntervalFrom]
	lines := []string{fmt.Sprintf("steady-state rate  %s mm/year, line through %d films from %s on%s",
		interval(f.Rate, f.Lo95, f.Hi95, f.HasInterval), f.Line.N, years(f.StartYears), from)}
	if f.HasBedding {
		lines = append(lines, fmt.Sprintf("bedding-in         %s mm", interval(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, f.HasInterval)))
	} else {
		lines = append(lines, "bedding-in         not told: no film before "+years(f.StartYears))
	}
	if f.HasFirstToLast {
		c := column{3}
		if f.HasInterval {
			c = column{Decimals(f.SE)}
		}
		lines = append(lines, "first to last      "+c.value(f.FirstToLast)+" mm/year")
	}
	if l := linerOf(t); l != nil && l.Remaining.exists() {
		c := column{Decimals(float64(l.SERemaining))}
		lines = append(lines, fmt.Sprintf("liner              %g mm nominal, %s mm of it left on the last film",
			float64(l.Nominal), c.withSE(float64(l.Remaining), float64(l.SERemaining))))
	}
	return lines
}

// interval writes "0.052 (95 % 0.031 to 0.073)", rounded by the interval's
// half width as two standard errors.
func interval(v, lo, hi float64, has bool) string {
	if !has || !num(hi-lo).exists() {
		return column{3}.value(v)
	}
	c := column{Decimals(math.Abs(hi-lo) / 4)}
	return fmt.Sprintf("%s (95 %% %s to %s)", c.value(v), c.value(lo), c.value(hi))
}
