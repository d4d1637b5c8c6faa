package dataset

import (
	"slices"

	"linerwatch/app/study"
)

// eventRow is something that happened to a hip, as it was entered; number counts from 1.
type eventRow struct {
	*hipRow
	study.Event
	number int
}

func eventRows(h *hipRow) (out []*eventRow) {
	for i, e := range h.Events {
		out = append(out, &eventRow{h, e, i + 1})
	}
	return out
}

// number returns which event of the hip an ID names.
func (e *eventRow) numberOf(id string) string {
	i := slices.IndexFunc(e.Events, func(o study.Event) bool { return o.ID == id })
	if id == "" || i < 0 {
		return ""
	}
	return wholeCell(i + 1)
}

// stands reports whether it is not taken back and takes none back.
func (e *eventRow) stands() bool {
	return slices.ContainsFunc(study.StandingEvents(e.Events), func(o study.Event) bool { return o.ID == e.Event.ID })
}

func eventColumns() []column[*eventRow] {
	return []column[*eventRow]{
		{"event_no", "number of the event of the hip, in the order of entry", "", "", aCount.from(1), func(e *eventRow) string { return wholeCell(e.number) }},
		{"event", "what happened", "", "", oneOf(study.EventKinds()), func(e *eventRow) string { return string(e.Kind) }},
		{"event_date", "date of the event", "", "", aDay, func(e *eventRow) string { return day(e.Date) }},
		{"years", "from surgery to the event", "in years of 365.25 days", "years", aNumber, func(e *eventRow) string { return e.hipRow.years(e.Date) }},
		{"stands", "the event is not taken back and takes none back", "", "", yesNo, func(e *eventRow) string { return yes(e.stands()) }},
		{"takes_back", "event_no of the event of the hip that this one takes back", "", "", aCount.from(1), func(e *eventRow) string { return e.numberOf(e.TakesBack) }},
		{"head_mm", "diameter of the new head", "NA where it is as before", "mm", aNumber, func(e *eventRow) string { return known(e.Implant.HeadMM) }},
		{"head_material", "material of the new head", "NA where it is as before", "", oneOf(study.HeadMaterials()), func(e *eventRow) string { return e.Implant.HeadMaterial }},
		{"liner_mm", "thickness of the new liner", "NA where it is as before", "mm", aNumber, func(e *eventRow) string { return known(e.Implant.LinerMM) }},
		{"pe_type", "polyethylene of the new liner", "NA where it is as before", "", oneOf(study.PEKinds()), func(e *eventRow) string { return e.Implant.PE }},
		{"shell_mm", "outer diameter of the new shell or cup", "NA where it is as before", "mm", aNumber, func(e *eventRow) string { return known(e.Implant.ShellMM) }},
		{"event_note", "what was noted of it", "", "", freeText, func(e *eventRow) string { return oneLine(e.Note) }},
		{"entered_by", "who entered it", "", "", aReader, func(e *eventRow) string { return e.Reader }},
		{"entered_at", "when it was entered, in UTC", "", "", aMoment, func(e *eventRow) string { return when(e.At) }},
	}
}

// gradeRow is a reader's judgement of a film, as it was given; number counts those of the
// film, from 1.
type gradeRow struct {
	*hipRow
	study.Grade
	number int
}

func (g *gradeRow) id() string { return g.FilmID }

func gradeRows(h *hipRow) (out []*gradeRow) {
	of := map[string]int{}
	for _, g := range h.Grades {
		of[g.FilmID]++
		out = append(out, &gradeRow{h, g, of[g.FilmID]})
	}
	return out
}

// holds reports whether it is the reader's last of the film.
func (g *gradeRow) holds() bool {
	last, _ := g.grade(g.FilmID, g.Reader)
	return last == g.Grade
}

// grade returns a reader's grade of a film that holds.
func (h *hipRow) grade(filmID, reader string) (study.Grade, bool) {
	for i := len(h.Grades) - 1; i >= 0; i-- {
		if g := h.Grades[i]; g.FilmID == filmID && g.Reader == reader {
			return g, true
		}
	}
	return study.Grade{}, false
}

func gradeColumns() []column[*gradeRow] {
	return []column[*gradeRow]{
		{"film_id", "code of the film", "", "", aFilm, (*gradeRow).id},
		{"grade_no", "number of the grade of the film, in the order of entry", "", "", aCount.from(1), func(g *gradeRow) string { return wholeCell(g.number) }},
		{"reader", "who gave it", "", "", aReader, func(g *gradeRow) string { return g.Reader }},
		{"quality", "how good the film is for measuring", "", "", oneOf(study.Qualities()), func(g *gradeRow) string { return g.Quality }},
		{"quality_reason", "why it is less than good", "", "", oneOf(study.GradeReasons()), func(g *gradeRow) string { return g.Reason }},
		{"quality_note", "what the reader added", "", "", freeText, func(g *gradeRow) string { return oneLine(g.Note) }},
		{"holds", "the reader's last grade of the film", "", "", yesNo, func(g *gradeRow) string { return yes(g.holds()) }},
		{"graded_at", "when it was given, in UTC", "", "", aMoment, func(g *gradeRow) string { return when(g.At) }},
	}
}
