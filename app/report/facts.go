package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

type factsJSON struct {
	Film           string        `json:"film"`
	SHA256         *string       `json:"sha256"`
	Fault          string        `json:"fault"`
	Format         *string       `json:"format"`
	TransferSyntax *string       `json:"transfer_syntax"`
	Modality       *string       `json:"modality"`
	Photometric    *string       `json:"photometric"`
	Width          num           `json:"width_px"`
	Height         num           `json:"height_px"`
	Bits           num           `json:"bits_stored"`
	Patient        *string       `json:"patient"`
	Date           *string       `json:"date"`
	DateSource     *string       `json:"date_source"`
	Side           *string       `json:"side"`
	View           *string       `json:"view"`
	Spacings       []spacingJSON `json:"spacing"`
	SourceImage    num           `json:"source_to_detector_mm"`
	SourcePatient  num           `json:"source_to_patient_mm"`
	Magnification  num           `json:"magnification"`
	Warnings       []string      `json:"warnings"`
}

type spacingJSON struct {
	Kind   string `json:"kind"`
	Row    num    `json:"row_mm"`
	Column num    `json:"column_mm"`
}

// Facts writes what the files say of themselves.
func Facts(w io.Writer, format Format, facts []study.Facts) error {
	switch format {
	case JSON:
		out := []factsJSON{}
		for _, f := range facts {
			out = append(out, factsOf(f))
		}
		return writeJSON(w, out)
	case CSV:
		return writeCSV(w, factsRows(facts))
	}
	for i, f := range facts {
		if i > 0 {
			if err := writeLines(w, ""); err != nil {
				return err
			}
		}
		if err := factsText(w, f); err != nil {
			return err
		}
	}
	return nil
}

func factsOf(f study.Facts) factsJSON {
	out := factsJSON{
		Film: f.Film, SHA256: text(f.SHA256), Fault: f.Fault, Format: text(f.Format),
		TransferSyntax: text(f.TransferSyntax), Modality: text(f.Modality), Photometric: text(f.Photometric),
		Width: positive(float64(f.Width)), Height: positive(float64(f.Height)), Bits: positive(float64(f.Bits)),
		Patient: text(f.Patient), Date: text(day(f.Date)), DateSource: text(f.DateSource),
		Side: text(f.Laterality), View: text(f.View), Spacings: []spacingJSON{},
		SourceImage: positive(f.SourceImage), SourcePatient: positive(f.SourcePatient),
		Magnification: positive(f.Magnification), Warnings: list(f.Warnings),
	}
	for _, s := range f.Spacings {
		out.Spacings = append(out.Spacings, spacingJSON{s.Kind, num(s.Row), num(s.Column)})
	}
	return out
}

func factsRows(facts []study.Facts) [][]string {
	rows := [][]string{{"film", "sha256", "fault", "format", "transfer_syntax", "modality", "photometric",
		"width_px", "height_px", "bits_stored", "patient", "date", "date_source", "side", "view",
		"spacing_kind", "spacing_row_mm", "spacing_column_mm",
		"source_to_detector_mm", "source_to_patient_mm", "magnification", "warnings"}}
	for _, f := range facts {
		j := factsOf(f)
		kind, row, col := "", none, none
		if len(j.Spacings) > 0 {
			kind, row, col = j.Spacings[0].Kind, j.Spacings[0].Row, j.Spacings[0].Column
		}
		rows = append(rows, []string{f.Film, f.SHA256, f.Fault, f.Format, f.TransferSyntax, f.Modality, f.Photometric,
			j.Width.cell(), j.Height.cell(), j.Bits.cell(), f.Patient, day(f.Date), f.DateSource, f.Laterality, f.View,
			kind, row.cell(), col.cell(), j.SourceImage.cell(), j.SourcePatient.cell(), j.Magnification.cell(),
			strings.Join(f.Warnings, "; ")})
	}
	return rows
}

func factsText(w io.Writer, f study.Facts) error {
	if f.Fault != "" {
		return writeLines(w, f.Film, "  not read    "+f.Fault)
	}
	lines := []string{f.Film}
	say := func(name, value string) {
		lines = append(lines, fmt.Sprintf("  %-11s %s", name, value))
	}
	say("format", strings.TrimSpace(f.Format+" "+f.Modality))
	if f.TransferSyntax != "" {
		say("syntax", f.TransferSyntax)
	}
	say("size", fmt.Sprintf("%d x %d px, %d bits stored, %s", f.Width, f.Height, f.Bits, dash(f.Photometric)))
	say("patient", dash(f.Patient))
	date := dash(day(f.Date))
	if f.DateSource != "" {
		date += " (" + f.DateSource + " date)"
	}
	say("date", date)
	say("side", dash(f.Laterality))
	say("view", dash(f.View))
	for _, s := range f.Spacings {
		say("spacing", fmt.Sprintf("%s x %s mm (%s)", exact(s.Row), exact(s.Column), s.Kind))
	}
	if len(f.Spacings) == 0 {
		say("spacing", "not stated")
	}
	for _, d := range []struct {
		name string
		v    float64
	}{{"source", f.SourceImage}, {"to patient", f.SourcePatient}} {
		if d.v > 0 {
			say(d.name, exact(d.v)+" mm")
		}
	}
	if f.Magnification > 0 {
		say("magnified", exact(f.Magnification)+" as the file estimates it")
	}
	say("sha256", f.SHA256)
	for _, s := range f.Warnings {
		say("note", s)
	}
	return writeLines(w, lines...)
}

func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
