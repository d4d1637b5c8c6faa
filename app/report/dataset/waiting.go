package dataset

import "linerwatch/app/study"

// waitingRow is a film of no hip.
type waitingRow struct {
	study.Film
	lacks string // whether its file is missing
}

func (*waitingRow) of() *hipRow { return nil }

func (e *export) waiting(f study.Film) *waitingRow {
	lacks := e.lacks(f)
	f.Path = ""
	return &waitingRow{f, lacks}
}

// lacks says whether the file of a film is missing, nothing where nobody looks.
func (e *export) lacks(f study.Film) string {
	if e.Lacks == nil {
		return ""
	}
	return yes(e.Lacks(f))
}

func waitingColumns() []column[*waitingRow] {
	return []column[*waitingRow]{
		{"film_id", "code of the film in the study", "", "", aFilm, func(f *waitingRow) string { return f.ID }},
		filmStatus(func(f *waitingRow) study.FilmStanding { return f.Standing() }),
		{"status_reason", "why the film is of no hip", "", "", words, func(f *waitingRow) string { return oneLine(study.NoteWords(f.Reason)) }},
		fileMissing(func(f *waitingRow) string { return f.lacks }),
		{"file_patient", "patient as the file says", "", "", aName, func(f *waitingRow) string { return oneLine(f.Facts.Patient) }},
		{"file_side", "side as the file says", "", "", sides(), func(f *waitingRow) string { return f.Facts.Side.String() }},
		{"film_date", "date of the film", "", "", kind{of: "date", tells: aTime}, func(f *waitingRow) string { return day(f.Date()) }},
		{"view", "view of the film", "", "", oneOf(views()), func(f *waitingRow) string { return string(f.View()) }},
		{"width_px", "columns of the film", "", "px", aCount, func(f *waitingRow) string { return known(float64(f.Facts.Width)) }},
		{"height_px", "rows of the film", "", "px", aCount, func(f *waitingRow) string { return known(float64(f.Facts.Height)) }},
	}
}
