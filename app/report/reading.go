package report

import (
	"fmt"
	"math"

	"linerwatch/app/study"
)

// beamJSON is what a reading did about the cone beam.
type beamJSON struct {
	Corrected  bool    `json:"corrected"`
	Reason     string  `json:"reason"` // why not
	Source     num     `json:"source_to_detector_mm"`
	SourceFrom *string `json:"source_from"`
	X          num     `json:"central_ray_x_px"`
	Y          num     `json:"central_ray_y_px"`
	CenterFrom *string `json:"central_ray_from"`
	OffAxis    num     `json:"head_off_axis_mm"`
	Hip        num     `json:"source_to_hip_mm"`
	Superior   num     `json:"moved_superior_mm"`
	Medial     num     `json:"moved_medial_mm"`
}

func beamOf(m study.Measurement) *beamJSON {
	u := m.Beam
	out := &beamJSON{Corrected: u.Corrected, Reason: study.NoteWords(u.Reason), Source: positive(u.SourceMM), SourceFrom: text(u.SourceFrom.Words()),
		X: none, Y: none, CenterFrom: text(u.CenterFrom.Words()), OffAxis: none, Hip: none, Superior: none, Medial: none}
	if u.CenterFrom != "" {
		out.X, out.Y = num(u.Center.X), num(u.Center.Y)
	}
	if u.Corrected {
		out.OffAxis, out.Hip = num(u.OffAxisMM), num(u.HipMM)
		out.Superior, out.Medial = num(u.Moved.Superior), num(u.Moved.Medial)
	}
	return out
}

// lineJSON is the reference line of a film; used says whether the reading is
// turned by it.
type lineJSON struct {
	From  string `json:"from"`
	Used  bool   `json:"used"`
	Alpha num    `json:"alpha_deg"`
	SE    num    `json:"se_alpha_deg"`
}

func lineOf(m study.Measurement) *lineJSON {
	if m.Line.From == study.NoLine {
		return nil
	}
	return &lineJSON{string(m.Line.From), m.How.Line, num(m.Line.Alpha), num(m.Line.SE)}
}

// gapJSON is the space between the outlines.
type gapJSON struct {
	Widest        num    `json:"widest_mm"`
	SEWidest      num    `json:"se_widest_mm"`
	Direction     num    `json:"thinnest_direction_deg"` // from superior, medial positive
	Uniradiograph num    `json:"uniradiograph_mm"`
	SEUni         num    `json:"se_uniradiograph_mm"`
	Reason        string `json:"reason"` // why there is none
}

func gapOf(m study.Measurement) gapJSON {
	g, err := m.Gap()
	if err != nil {
		return gapJSON{none, none, none, none, none, study.Told(err)}
	}
	return gapJSON{num(g.Widest.MM), num(g.Widest.SE), num(g.Direction), num(g.Uniradiograph.MM), num(g.Uniradiograph.SE), ""}
}

// cupAxisJSON is the orientation of the cup, in the definitions of Murray (1993).
type cupAxisJSON struct {
	From        *string     `json:"from"`
	Reason      string      `json:"reason"`  // why there is none
	Against     *string     `json:"against"` // what inclination is measured against
	Inclination num         `json:"radiographic_inclination_deg"`
	SEIncl      num         `json:"se_inclination_deg"`
	Version     num         `json:"radiographic_anteversion_deg"` // its size: one film does not tell the sign
	SEVersion   num         `json:"se_anteversion_deg"`
	Operative   *anglesJSON `json:"operative"`
	Anatomical  *anglesJSON `json:"anatomical"`
}

type anglesJSON struct {
	Inclination num `json:"inclination_deg"`
	Anteversion num `json:"anteversion_deg"`
}

// axisFrom says what told the cup's axis.
func axisFrom(o study.Orientation) string {
	switch {
	case o.Found:
		return "rim found on the film"
	case o.Version:
		return "wire ring"
	}
	return "rim line"
}

func cupAxisOf(m study.Measurement) cupAxisJSON {
	out := cupAxisJSON{Inclination: none, SEIncl: none, Version: none, SEVersion: none}
	o, ok := m.Orientation()
	if !ok {
		out.Reason = study.Told(m.NoRim())
		return out
	}
	from, against := axisFrom(o), "image rows"
	if o.Line {
		against = "reference line"
	}
	out.From, out.Against = &from, &against
	out.Inclination, out.SEIncl = num(o.Inclination), positive(o.SEInclination)
	if !o.Version {
		out.Reason = "the rim line does not tell the version"
		return out
	}
	out.Version, out.SEVersion = num(o.Anteversion), positive(o.SEAnteversion)
	if o.Inclination < 90 {
		op, an := o.Operative(), o.Anatomical()
		out.Operative = &anglesJSON{num(op.Inclination), num(op.Anteversion)}
		out.Anatomical = &anglesJSON{num(an.Inclination), num(an.Anteversion)}
	}
	return out
}

// changeJSON is what a film says against the baseline film besides the penetration.
type changeJSON struct {
	Shortest       num    `json:"shortest_distance_mm"` // wear by that technique
	SEShortest     num    `json:"se_shortest_distance_mm"`
	ShortestAlong  num    `json:"shortest_direction_deg"`
	ShortestReason string `json:"shortest_distance_reason"`
	Duo            num    `json:"duoradiograph_mm"`
	SEDuo          num    `json:"se_duoradiograph_mm"`
	ToAxis         num    `json:"to_cup_axis_deg"`
	SEToAxis       num    `json:"se_to_cup_axis_deg"`
	AxisReason     string `json:"to_cup_axis_reason"`
	Volume         num    `json:"volume_mm3"`
	SEVolume       num    `json:"se_volume_mm3"`
	VolumeReason   string `json:"volume_reason"`
	VolumeAssumes  string `json:"volume_assumes"`
	Inclination    num    `json:"inclination_change_deg"`
	Version        num    `json:"version_change_deg"`
}

var noChange = changeJSON{none, none, none, "", none, none, none, none, "", none, none, "", "", none, none}

func changeOf(c study.Change) changeJSON {
	out := noChange
	out.ShortestReason, out.AxisReason, out.VolumeReason = study.Told(c.ShortestErr), study.Told(c.AxisErr), study.Told(c.VolumeErr)
	if c.ShortestErr == nil {
		out.Shortest, out.SEShortest, out.ShortestAlong = num(c.Shortest.Wear.MM), num(c.Shortest.Wear.SE), num(c.Shortest.Direction)
	}
	if c.DuoErr == nil {
		out.Duo, out.SEDuo = num(c.Duo.MM), num(c.Duo.SE)
	}
	if c.AxisErr == nil {
		out.ToAxis, out.SEToAxis = num(c.ToAxis), num(c.SEToAxis)
	}
	if c.VolumeErr == nil {
		out.Volume, out.SEVolume, out.VolumeAssumes = num(c.Volume.MM3), num(c.Volume.SE), c.VolumeAssumes()
	}
	if c.HasProjection {
		out.Inclination = num(c.Projection.Inclination)
		if c.HasVersion {
			out.Version = num(c.Projection.Version)
		}
	}
	return out
}

var moreColumns = []string{
	"view", "beam_corrected", "beam_reason", "source_to_detector_mm", "head_off_axis_mm", "beam_moved_superior_mm", "beam_moved_medial_mm",
	"line_from", "alpha_deg", "se_alpha_deg",
	"widest_mm", "se_widest_mm", "uniradiograph_mm", "se_uniradiograph_mm",
	"inclination_deg", "se_inclination_deg", "anteversion_deg", "se_anteversion_deg", "cup_axis_from",
}

func readingCells(f filmJSON) []string {
	if f.Beam == nil {
		return make([]string, len(moreColumns))
	}
	b := f.Beam
	g, a := &gapJSON{none, none, none, none, none, ""}, &cupAxisJSON{Inclination: none, SEIncl: none, Version: none, SEVersion: none}
	if f.Gap != nil { // of an AP film
		g, a = f.Gap, f.CupAxis
	}
	line := lineJSON{"", false, none, none}
	if f.Line != nil {
		line = *f.Line
	}
	view, from := "", ""
	if f.View != nil {
		view = *f.View
	}
	if a.From != nil {
		from = *a.From
	}
	return []string{view, fmt.Sprint(b.Corrected), b.Reason, b.Source.cell(), b.OffAxis.cell(), b.Superior.cell(), b.Medial.cell(),
		line.From, line.Alpha.cell(), line.SE.cell(),
		g.Widest.cell(), g.SEWidest.cell(), g.Uniradiograph.cell(), g.SEUni.cell(),
		a.Inclination.cell(), a.SEIncl.cell(), a.Version.cell(), a.SEVersion.cell(), from}
}

var changeColumns = []string{
	"shortest_distance_mm", "se_shortest_distance_mm", "duoradiograph_mm", "se_duoradiograph_mm",
	"to_cup_axis_deg", "se_to_cup_axis_deg", "volume_mm3", "se_volume_mm3", "inclination_change_deg", "version_change_deg",
}

func changeCells(c changeJSON) []string {
	return []string{c.Shortest.cell(), c.SEShortest.cell(), c.Duo.cell(), c.SEDuo.cell(),
		c.ToAxis.cell(), c.SEToAxis.cell(), c.Volume.cell(), c.SEVolume.cell(), c.Inclination.cell(), c.Version.cell()}
}

// valueSE is a number with its standard error, in a column rounded by its own.
type valueSE struct{ v, se float64 }

// cellsOf rounds a table column by its standard errors; what is missing is a dash.
func cellsOf(list []valueSE) []string {
	var ses []float64
	for _, x := range list {
		ses = append(ses, x.se)
	}
	c := columnFor(ses)
	var out []string
	for _, x := range list {
		out = append(out, c.withSE(x.v, x.se))
	}
	return out
}

// readingGrid is the second table of measured films: the gap, the cup's
// orientation, and what the corrections changed.
func readingGrid(ms []study.Measurement) *grid {
	var films []study.Film
	for _, m := range ms {
		films = append(films, m.Film)
	}
	name := shortNames(films)
	g := newGrid("<film", "<side", "widest mm", "uniradiograph mm", "inclination deg", "anteversion deg", "beam shift mm", "line deg")
	var rows []study.Measurement
	var columns [6][]valueSE
	for _, m := range ms {
		if m.Status != study.Measured || m.Film.View() == study.Lateral {
			continue
		}
		rows = append(rows, m)
		gap, axis := gapOf(m), cupAxisOf(m)
		shift, turn := valueSE{math.NaN(), 0}, valueSE{math.NaN(), 0}
		if m.Beam.Corrected {
			shift.v = math.Hypot(m.Beam.Moved.Superior, m.Beam.Moved.Medial)
		}
		if m.How.Line {
			turn = valueSE{m.Line.Alpha, m.Line.SE}
		}
		for i, v := range []valueSE{
			{float64(gap.Widest), float64(gap.SEWidest)}, {float64(gap.Uniradiograph), float64(gap.SEUni)},
			{float64(axis.Inclination), float64(axis.SEIncl)}, {float64(axis.Version), float64(axis.SEVersion)}, shift, turn,
		} {
			columns[i] = append(columns[i], v)
		}
	}
	var cells [6][]string
	for i := range columns {
		cells[i] = cellsOf(columns[i])
	}
	for k, m := range rows {
		row := []string{name(m.Film), m.Side.String()}
		for i := range cells {
			row = append(row, cells[i][k])
		}
		g.add(row...)
	}
	return g
}

// changeGrid is the second table of a trend, with the notes below it.
func changeGrid(t study.Trend) (g *grid, notes []string) {
	name := shortNames(trendFilms(t))
	g = newGrid("<film", "shortest distance mm", "duoradiograph mm", "to cup axis deg", "volume mm³", "inclination change deg", "version change deg")
	var columns [6][]valueSE
	changes := t.Changes()
	reason := map[string]bool{}
	notes = foundNote(t.Films)
	for _, c := range changes {
		j := changeOf(c)
		for i, v := range []valueSE{
			{float64(j.Shortest), float64(j.SEShortest)}, {float64(j.Duo), float64(j.SEDuo)},
			{float64(j.ToAxis), float64(j.SEToAxis)}, {float64(j.Volume), float64(j.SEVolume)},
			{float64(j.Inclination), c.Projection.SEInclination}, {float64(j.Version), c.Projection.SEVersion},
		} {
			columns[i] = append(columns[i], v)
		}
		for _, s := range []string{j.ShortestReason, j.AxisReason, j.VolumeReason} {
			if s != "" && !reason[s] {
				reason[s] = true
				notes = append(notes, "note: "+s)
			}
		}
		if s := j.VolumeAssumes; s != "" && !reason[s] {
			reason[s] = true
			notes = append(notes, "note: the volume assumes "+s)
		}
	}
	var cells [6][]string
	for i := range columns {
		cells[i] = cellsOf(columns[i])
	}
	for k, c := range changes {
		row := []string{name(c.Film)}
		for i := range cells {
			row = append(row, cells[i][k])
		}
		g.add(row...)
	}
	return g, notes
}
