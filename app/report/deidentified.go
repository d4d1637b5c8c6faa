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
			out = append(out, deidentifiedJSON{f.Film, text(f.Written), text(f.Patient), f.Fault, list(f.Warnings)})
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"film", "written", "patient", "fault", "warnings"}}
		for _, f := range films {
			rows = append(rows, []string{f.Film, f.Written, f.Patient, f.Fault, strings.Join(f.Warnings, "; ")})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<film", "<written", "<patient", "<note")
	for _, f := range films {
		note := strings.Join(f.Warnings, "; ")
		if f.Fault != "" {
			note = "not written: " + f.Fault
		}
		g.add(f.Film, dash(f.Written), dash(f.Patient), dash(note))
	}
	return g.write(w)
}
