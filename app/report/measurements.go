package report

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// filmJSON is one hip on one film.
type filmJSON struct {
	Film         string       `json:"film"`
	SHA256       *string      `json:"sha256"`
	Status       study.Status `json:"status"`
	Reason       string       `json:"reason"`
	Date         *string      `json:"date"`
	Side         *string      `json:"side"`
	Head         *circleJSON  `json:"head"`
	Cup          *cupJSON     `json:"cup"`
	Scale        num          `json:"mm_per_px"`
	ScaleSource  *string      `json:"scale_source"`
	Magnified    num          `json:"magnification"`
	Offset       *offsetJSON  `json:"offset_mm"`         // of an AP film
	Lateral      *lateralJSON `json:"lateral_offset_mm"` // of a lateral one
	Eccentricity num          `json:"eccentricity"`
	SEEccentric  num          `json:"se_eccentricity"`
	Thinnest     num          `json:"thinnest_mm"`
	SEThinnest   num          `json:"se_thinnest_mm"`
	View         *string      `json:"view"`
	Beam         *beamJSON    `json:"beam"`
	Line         *lineJSON    `json:"reference_line"`
	Gap          *gapJSON     `json:"gap"`
	CupAxis      *cupAxisJSON `json:"cup_axis"`
	Warnings     []string     `json:"warnings"`
	WarningCodes []string     `json:"warning_codes"`
}

type circleJSON struct {
	X       num `json:"x_px"`
	Y       num `json:"y_px"`
	Radius  num `json:"radius_px"`
	SEX     num `json:"se_x_px"`
	SEY     num `json:"se_y_px"`
	SERad   num `json:"se_radius_px"`
	Arc     num `json:"arc_deg"`
	Scatter num `json:"rms_px"`

	Contrast num `json:"contrast_to_noise"`
	Clipped  num `json:"clipped_share"`
}

type cupJSON struct {
	Outline string `json:"outline"`
	circleJSON
}

type offsetJSON struct {
	Superior   num `json:"superior"`
	Medial     num `json:"medial"`
	SESuperior num `json:"se_superior"`
	SEMedial   num `json:"se_medial"`
}

// Measurements writes one object or row per hip and film.
func Measurements(w io.Writer, format Format, ms []study.Measurement) error {
	switch format {
	case JSON:
		return writeJSON(w, filmsJSON(ms))
	case CSV:
		rows := [][]string{slices.Concat(filmColumns, moreColumns, lateralColumns, []string{"warnings"})}
		for _, m := range ms {
			rows = append(rows, filmCells(filmOf(m)))
		}
		return writeCSV(w, rows)
	}
	if err := filmGrid(ms).write(w); err != nil {
		return err
	}
	if more := readingGrid(ms); len(more.rows) > 0 {
		if err := writeLines(w, ""); err != nil {
			return err
		}
		if err := more.write(w); err != nil {
			return err
		}
		if err := writeLines(w, ""); err != nil {
			return err
		}
	}
	if err := writeLines(w, filmNotes(ms)...); err != nil {
		return err
	}
	return writeLines(w, "", plusMinus, Caution())
}

func filmsJSON(ms []study.Measurement) []filmJSON {
	out := []filmJSON{}
	for _, m := range ms {
		out = append(out, filmOf(m))
	}
	return out
}

func filmOf(m study.Measurement) filmJSON {
	f := filmJSON{
		Film: m.Film.Path, SHA256: text(m.Film.Facts.SHA256), Status: m.Status, Reason: study.NoteWords(m.Reason),
		Date: text(day(m.Film.Date())), Side: text(m.Side.String()),
		Scale: none, Magnified: none, Eccentricity: none, SEEccentric: none,
		Thinnest: none, SEThinnest: none, View: text(string(m.Film.View())),
	}
	remarks := m.Remarks()
	f.Warnings, f.WarningCodes = study.Texts(remarks), []string{}
	for _, w := range remarks {
		f.WarningCodes = append(f.WarningCodes, w.Code)
	}
	if m.Status != study.Measured {
		return f
	}
	source := "head"
	head := circleJSON{
		X: num(m.Head.X), Y: num(m.Head.Y), Radius: num(m.Head.R),
		SEX: root(m.Head.Cov[0][0]), SEY: root(m.Head.Cov[1][1]), SERad: root(m.Head.Cov[2][2]),
		Arc: num(m.Head.Arc), Scatter: num(m.Head.RMS), Contrast: shown(m.Head, m.Head.Contrast), Clipped: shown(m.Head, m.Head.Clipped),
	}
	cup := circleJSON{
		X: num(m.Cup.X), Y: num(m.Cup.Y), Radius: num(m.Cup.R),
		SEX: root(m.Cup.Cov[0][0]), SEY: root(m.Cup.Cov[1][1]), SERad: root(m.Cup.Cov[2][2]),
		Arc: num(m.Cup.Arc), Scatter: num(m.Cup.RMS), Contrast: shown(m.Cup, m.Cup.Contrast), Clipped: shown(m.Cup, m.Cup.Clipped),
	}
	sup, med := m.Reading.Offset.SE()
	f.Head, f.Cup = &head, &cupJSON{string(m.CupKind), cup}
	f.Scale, f.ScaleSource = num(m.Reading.Scale), &source
	f.Magnified = magnification(m)
	f.Offset = &offsetJSON{num(m.Reading.Offset.Superior), num(m.Reading.Offset.Medial), num(sup), num(med)}
	f.Eccentricity, f.SEEccentric = num(m.Reading.Eccentricity), num(m.Reading.SEEccentricity)
	f.Thinnest, f.SEThinnest = num(m.Reading.Thinnest), num(m.Reading.SEThinnest)
	if m.Film.View() == study.Lateral {
		f.Offset, f.Lateral, f.Beam = nil, lateralOf(m), beamOf(m)
		return f
	}
	gap, axis := gapOf(m), cupAxisOf(m)
	f.Beam, f.Line, f.Gap, f.CupAxis = beamOf(m), lineOf(m), &gap, &axis
	return f
}

// shown is a fact about how an outline shows on its film, which one drawn by hand
// and not fitted has not.
func shown(o study.Outline, v float64) num {
	if o.Contrast == 0 {
		return none
	}
	return num(v)
}

// root is the standard error of a variance.
func root(v float64) num { return num(math.Sqrt(v)) }

// magnification is the detector's spacing over the scale that the head's
// diameter gives.
func magnification(m study.Measurement) num {
	if m.Film.Facts.SpacingMM > 0 && m.Reading.Scale > 0 {
		return num(m.Film.Facts.SpacingMM / m.Reading.Scale)
	}
	return none
}

var filmColumns = []string{
	"film", "sha256", "status", "reason", "date", "side",
	"head_x_px", "head_y_px", "head_radius_px", "head_se_x_px", "head_se_y_px", "head_se_radius_px", "head_arc_deg", "head_rms_px",
	"head_contrast_to_noise", "head_clipped_share",
	"cup_outline",
	"cup_x_px", "cup_y_px", "cup_radius_px", "cup_se_x_px", "cup_se_y_px", "cup_se_radius_px", "cup_arc_deg", "cup_rms_px",
	"cup_contrast_to_noise", "cup_clipped_share",
	"mm_per_px", "scale_source", "magnification",
	"offset_superior_mm", "offset_medial_mm", "se_offset_superior_mm", "se_offset_medial_mm",
	"eccentricity", "se_eccentricity", "thinnest_mm", "se_thinnest_mm",
}

func filmCells(f filmJSON) []string {
	str := func(s *string) string {
		if s == nil {
			return ""
		}
		return *s
	}
	nothing := circleJSON{none, none, none, none, none, none, none, none, none, none}
	head, cup, offset := nothing, cupJSON{"", nothing}, offsetJSON{none, none, none, none}
	if f.Head != nil {
		head, cup = *f.Head, *f.Cup
	}
	if f.Offset != nil {
		offset = *f.Offset
	}
	circle := func(c circleJSON) []string {
		return []string{c.X.cell(), c.Y.cell(), c.Radius.cell(), c.SEX.cell(), c.SEY.cell(), c.SERad.cell(), c.Arc.cell(), c.Scatter.cell(),
			c.Contrast.cell(), c.Clipped.cell()}
	}
	cells := []string{f.Film, str(f.SHA256), string(f.Status), f.Reason, str(f.Date), str(f.Side)}
	cells = append(cells, circle(head)...)
	cells = append(cells, cup.Outline)
	cells = append(cells, circle(cup.circleJSON)...)
	cells = append(cells, f.Scale.cell(), str(f.ScaleSource), f.Magnified.cell(),
		offset.Superior.cell(), offset.Medial.cell(), offset.SESuperior.cell(), offset.SEMedial.cell(),
		f.Eccentricity.cell(), f.SEEccentric.cell(), f.Thinnest.cell(), f.SEThinnest.cell())
	return slices.Concat(cells, readingCells(f), lateralCells(f), []string{strings.Join(f.Warnings, "; ")})
}

func filmGrid(ms []study.Measurement) *grid {
	var sup, med, ecc, thin []float64
	var films []study.Film
	for _, m := range ms {
		films = append(films, m.Film)
		if m.Status != study.Measured {
			continue
		}
		s, d := m.Reading.Offset.SE()
		sup, med = append(sup, s), append(med, d)
		ecc, thin = append(ecc, m.Reading.SEEccentricity), append(thin, m.Reading.SEThinnest)
	}
	supC, medC, eccC, thinC := columnFor(sup), columnFor(med), columnFor(ecc), columnFor(thin)
	name := shortNames(films)
	g := newGrid("<film", "<date", "<side", "<status", "<cup", "mm/px", "offset superior mm", "offset medial mm", "eccentricity", "thinnest mm")
	for _, m := range ms {
		row := []string{name(m.Film), dash(day(m.Film.Date())), dash(m.Side.String()), string(m.Status), "-", "-", "-", "-", "-", "-"}
		if m.Status == study.Measured {
			r := m.Reading
			s, d := r.Offset.SE()
			row = append(row[:4], string(m.CupKind), fmt.Sprintf("%.5f", r.Scale),
				supC.withSE(r.Offset.Superior, s), medC.withSE(r.Offset.Medial, d),
				eccC.withSE(r.Eccentricity, r.SEEccentricity), thinC.withSE(r.Thinnest, r.SEThinnest))
		}
		if m.Film.View() == study.Lateral && m.Status == study.Measured {
			row[4] += ", lateral" // the two offsets are along and anterior
		}
		g.add(row...)
	}
	return g
}

// filmNotes lists reasons and warnings, a line each.
func filmNotes(ms []study.Measurement) []string {
	var films []study.Film
	for _, m := range ms {
		films = append(films, m.Film)
	}
	name := shortNames(films)
	var lines []string
	for _, m := range ms {
		if !m.Reason.IsZero() {
			lines = append(lines, fmt.Sprintf("%s: %s: %s", name(m.Film), m.Status, study.NoteWords(m.Reason)))
		}
	}
	return slices.Concat(lines, foundNote(ms), warningNotes(ms))
}

// foundNote says where inclination and version of a shell come from, if nobody has
// drawn the rim.
func foundNote(ms []study.Measurement) []string {
	for _, m := range ms {
		if o, ok := m.Orientation(); ok && o.Found && m.Status == study.Measured {
			return []string{"note: inclination and version of a shell are those of its rim as found on the film, until a rim line is drawn; the sign of version is not told"}
		}
	}
	return nil
}

// warningNotes lists warnings, a line each with the films it is about.
func warningNotes(ms []study.Measurement) []string {
	var films []study.Film
	measured := 0
	for _, m := range ms {
		films = append(films, m.Film)
		if m.Status == study.Measured {
			measured++
		}
	}
	name := shortNames(films)
	about := map[string][]string{}
	var order []string
	for _, m := range ms {
		for _, s := range study.Texts(m.Remarks()) {
			if about[s] == nil {
				order = append(order, s)
			}
			about[s] = append(about[s], name(m.Film))
		}
	}
	var lines []string
	for _, s := range order {
		who := strings.Join(slices.Compact(about[s]), ", ")
		if len(about[s]) == measured && measured > 1 {
			who = "every film"
		}
		lines = append(lines, fmt.Sprintf("note: %s: %s", who, s))
	}
	return lines
}

func dash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}
