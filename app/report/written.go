package report

import (
	"io"
	"strings"

	"linerwatch/app/study"
)

type writtenJSON struct {
	Film  string   `json:"film"`
	ID    string   `json:"film_id"`
	Date  *string  `json:"date"`
	Files []string `json:"files"`
	Fault string   `json:"fault"`
	Notes []string `json:"notes"`
}

// Written writes what became of films whose results were to be written for an archive,
// one object or row each.
func Written(w io.Writer, format Format, films []study.Written) error {
	switch format {
	case JSON:
		out := []writtenJSON{}
		for _, f := range films {
			out = append(out, writtenJSON{f.Film.Name(), f.Film.ID, text(day(f.Film.Date())), list(f.Files), study.NoteWords(f.Fault), study.NotesWords(f.Notes)})
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"film", "film_id", "date", "files", "fault", "notes"}}
		for _, f := range films {
			rows = append(rows, []string{f.Film.Name(), f.Film.ID, day(f.Film.Date()), strings.Join(f.Files, "; "), study.NoteWords(f.Fault), joined(f.Notes, "; ")})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<film", "<date", "<written", "<note")
	for _, f := range films {
		notes := study.NotesWords(f.Notes)
		if !f.Fault.IsZero() {
			notes = append([]string{"not written: " + study.NoteWords(f.Fault)}, notes...)
		}
		g.add(f.Film.Name(), dash(day(f.Film.Date())), dash(strings.Join(f.Files, ", ")), dash(strings.Join(notes, "; ")))
	}
	return g.write(w)
}
