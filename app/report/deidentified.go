package report

import (
	"io"
	"strings"

	"linerwatch/app/study"
)

type deidentifiedJSON struct {
	Film     string   `json:"film"`
	Written  *string  `json:"written"`
	Patient  *string  `json:"patient"`
	Fault    string   `json:"fault"`
	Warnings []string `json:"warnings"`
}

// Deidentified writes what became of films whose identity was to be removed, one
// object or row each. It names the originals beside their new names: whoever has
// it can link them.
func Deidentified(w io.Writer, format Format, films []study.Deidentified) error {
	switch format {
	case JSON:
		out := []deidentifiedJSON{}
		for _, f := range films {
			out = append(out, deidentifiedJSON{f.Film, text(f.Written), text(f.Patient), study.NoteWords(f.Fault), study.NotesWords(f.Warnings)})
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"film", "written", "patient", "fault", "warnings"}}
		for _, f := range films {
			rows = append(rows, []string{f.Film, f.Written, f.Patient, study.NoteWords(f.Fault), strings.Join(study.NotesWords(f.Warnings), "; ")})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<film", "<written", "<patient", "<note")
	for _, f := range films {
		note := strings.Join(study.NotesWords(f.Warnings), "; ")
		if !f.Fault.IsZero() {
			note = "not written: " + study.NoteWords(f.Fault)
		}
		g.add(f.Film, dash(f.Written), dash(f.Patient), dash(note))
	}
	return g.write(w)
}
