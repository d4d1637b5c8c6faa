package report

import (
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
	SyntaxName     *string       `json:"transfer_syntax_name"`
	Lossy          bool          `json:"lossy"`
	CharacterSets  []string      `json:"character_sets"`
	Modality       *string       `json:"modality"`
	Photometric    *string       `json:"photometric"`
	Width          num           `json:"width_px"`
	Height         num           `json:"height_px"`
	Frames         num           `json:"frames"`
	Frame          num           `json:"frame"`
	Bits           num           `json:"bits_stored"`
	Allocated      num           `json:"bits_allocated"`
	HighBit        num           `json:"high_bit"`
	Signed         bool          `json:"signed"`
	Patient        *string       `json:"patient"`
	Date           *string       `json:"date"`
	DateSource     *string       `json:"date_source"`
	Acquisition    *string       `json:"acquisition_date"`
	Study          *string       `json:"study_date"`
	Content        *string       `json:"content_date"`
	Side           *string       `json:"side"`
	View           *string       `json:"view"`
	Views          []string      `json:"view_statements"`
	KeptOut        *string       `json:"kept_out"`
	Orientation    []string      `json:"orientation"`
	Upright        *string       `json:"upright"`
	BurnedIn       *string       `json:"burned_in_annotation"`
	Spacings       []spacingJSON `json:"spacing"`
	SpacingReason  *string       `json:"spacing_reason"`
	CheckedAgainst *string       `json:"magnification_checked_against"`
	AspectRatio    []num         `json:"pixel_aspect_ratio"`
	Square         *string       `json:"square"`
	Field          []float64     `json:"collimated_field_px"`
	SourceImage    num           `json:"source_to_detector_mm"`
	SourcePatient  num           `json:"source_to_patient_mm"`
	Magnification  num           `json:"magnification"`
	Slope          num           `json:"rescale_slope"`
	Intercept      num           `json:"rescale_intercept"`
	ModalityTable  num           `json:"modality_table_entries"`
	Windows        []windowJSON  `json:"windows"`
	Tables         []tableJSON   `json:"voi_tables"`
	Shape          *string       `json:"presentation_lut_shape"`
	Padding        []int         `json:"padding"`
	PixelKey       *string       `json:"pixels_sha256"`
	DuplicateOf    *string       `json:"duplicate_of"`
	Warnings       []string      `json:"warnings"`
}

type spacingJSON struct {
	Kind   string `json:"kind"`
	Name   string `json:"name"`
	Row    num    `json:"row_mm"`
	Column num    `json:"column_mm"`
	Used   bool   `json:"used"`
}

type windowJSON struct {
	Center   num     `json:"center"`
	Width    num     `json:"width"`
	Function string  `json:"function"`
	Name     *string `json:"name"`
}

type tableJSON struct {
	First   int     `json:"first"`
	Entries int     `json:"entries"`
	Bits    int     `json:"bits"`
	Name    *string `json:"name"`
}

// Facts writes what the files say of themselves.
func Facts(w io.Writer, format Format, facts []study.FileFacts) error {
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
		if err := writeLines(w, factsText(f)...); err != nil {
			return err
		}
	}
	return nil
}

func factsOf(f study.FileFacts) factsJSON {
	count := func(n int) num { return positive(float64(n)) }
	out := factsJSON{
		Film: f.Film, SHA256: text(f.SHA256), Fault: study.NoteWords(f.Fault), Format: text(f.Format),
		TransferSyntax: text(f.TransferSyntax), SyntaxName: text(f.SyntaxName), Lossy: f.Lossy,
		CharacterSets: list(f.CharacterSets), Modality: text(f.Modality), Photometric: text(f.Photometric),
		Width: count(f.Width), Height: count(f.Height), Frames: count(f.Frames), Frame: count(f.Frame),
		Bits: count(f.Bits), Allocated: count(f.Allocated), HighBit: none, Signed: f.Signed,
		Patient: text(f.Patient), Date: text(day(f.Date)), DateSource: text(f.DateSource),
		Acquisition: text(dated(f, "acquisition")), Study: text(dated(f, "study")), Content: text(dated(f, "content")),
		Side: text(f.Laterality), View: text(f.View), Views: list(viewTexts(f)), KeptOut: text(study.NoteWords(f.KeptOut)), Upright: told(f.Upright), Square: told(f.Square), BurnedIn: text(f.BurnedIn),
		Spacings: []spacingJSON{}, SpacingReason: told(f.SpacingReason), CheckedAgainst: text(f.CheckedAgainst),
		SourceImage: positive(f.SourceImage), SourcePatient: positive(f.SourcePatient), Magnification: positive(f.Magnification),
		Slope: none, Intercept: none, ModalityTable: count(f.Greys.ModalityEntries),
		Windows: []windowJSON{}, Tables: []tableJSON{}, Shape: text(f.Greys.Shape),
		PixelKey: text(f.PixelKey), DuplicateOf: text(f.DuplicateOf), Warnings: study.NotesWords(f.Warnings),
	}
	if f.Field != ([4]float64{}) {
		out.Field = f.Field[:]
	}
	if f.Allocated > 0 {
		out.HighBit = num(f.HighBit)
	}
	if f.Orientation != [2]string{} {
		out.Orientation = f.Orientation[:]
	}
	if r := f.AspectRatio; r != [2]float64{} {
		out.AspectRatio = []num{num(r[0]), num(r[1])}
	}
	if g := f.Greys; g.Slope != 0 {
		out.Slope, out.Intercept = num(g.Slope), num(g.Intercept)
	}
	if p := f.Greys.Padding; p != nil {
		out.Padding = p[:]
	}
	for _, s := range f.Spacings {
		out.Spacings = append(out.Spacings, spacingJSON{s.Kind, s.Name, num(s.Row), num(s.Column), s.Used})
	}
	for _, w := range f.Greys.Windows {
		out.Windows = append(out.Windows, windowJSON{num(w.Center), num(w.Width), w.Function, text(w.Name)})
	}
	for _, t := range f.Greys.Tables {
		out.Tables = append(out.Tables, tableJSON{t.First, t.Entries, t.Bits, text(t.Name)})
	}
	return out
}

// told is the words of a note, or nothing.
func told(n study.Note) *string { return text(study.NoteWords(n)) }

// dated is the file's date of a source, or "".
func dated(f study.FileFacts, source string) string {
	for _, d := range f.Dates {
		if d.Source == source {
			return day(d.Date)
		}
	}
	return ""
}

func exact(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

// factsColumn is one column of the table of facts.
type factsColumn struct {
	name string
	cell func(f study.FileFacts, j factsJSON) string
}

var factsColumns = []factsColumn{
	{"film", func(f study.FileFacts, _ factsJSON) string { return f.Film }},
	{"sha256", func(f study.FileFacts, _ factsJSON) string { return f.SHA256 }},
	{"fault", func(f study.FileFacts, _ factsJSON) string { return study.NoteWords(f.Fault) }},
	{"format", func(f study.FileFacts, _ factsJSON) string { return f.Format }},
	{"transfer_syntax", func(f study.FileFacts, _ factsJSON) string { return f.TransferSyntax }},
	{"transfer_syntax_name", func(f study.FileFacts, _ factsJSON) string { return f.SyntaxName }},
	{"lossy", func(f study.FileFacts, j factsJSON) string { return yesIfRead(f, j.Lossy) }},
	{"character_sets", func(f study.FileFacts, _ factsJSON) string { return strings.Join(f.CharacterSets, `\`) }},
	{"modality", func(f study.FileFacts, _ factsJSON) string { return f.Modality }},
	{"photometric", func(f study.FileFacts, _ factsJSON) string { return f.Photometric }},
	{"width_px", func(_ study.FileFacts, j factsJSON) string { return j.Width.cell() }},
	{"height_px", func(_ study.FileFacts, j factsJSON) string { return j.Height.cell() }},
	{"frames", func(_ study.FileFacts, j factsJSON) string { return j.Frames.cell() }},
	{"frame", func(_ study.FileFacts, j factsJSON) string { return j.Frame.cell() }},
	{"bits_stored", func(_ study.FileFacts, j factsJSON) string { return j.Bits.cell() }},
	{"bits_allocated", func(_ study.FileFacts, j factsJSON) string { return j.Allocated.cell() }},
	{"high_bit", func(_ study.FileFacts, j factsJSON) string { return j.HighBit.cell() }},
	{"signed", func(f study.FileFacts, j factsJSON) string { return yesIfRead(f, j.Signed) }},
	{"patient", func(f study.FileFacts, _ factsJSON) string { return f.Patient }},
	{"date", func(f study.FileFacts, _ factsJSON) string { return day(f.Date) }},
	{"date_source", func(f study.FileFacts, _ factsJSON) string { return f.DateSource }},
	{"acquisition_date", func(f study.FileFacts, _ factsJSON) string { return dated(f, "acquisition") }},
	{"study_date", func(f study.FileFacts, _ factsJSON) string { return dated(f, "study") }},
	{"content_date", func(f study.FileFacts, _ factsJSON) string { return dated(f, "content") }},
	{"side", func(f study.FileFacts, _ factsJSON) string { return f.Laterality }},
	{"view", func(f study.FileFacts, _ factsJSON) string { return f.View }},
	{"view_statements", func(f study.FileFacts, _ factsJSON) string { return strings.Join(viewTexts(f), "; ") }},
	{"kept_out", func(f study.FileFacts, _ factsJSON) string { return study.NoteWords(f.KeptOut) }},
	{"orientation", func(_ study.FileFacts, j factsJSON) string { return strings.Join(j.Orientation, `\`) }},
	{"upright", func(f study.FileFacts, _ factsJSON) string { return study.NoteWords(f.Upright) }},
	{"burned_in_annotation", func(f study.FileFacts, _ factsJSON) string { return f.BurnedIn }},
	{"spacing_kind", func(_ study.FileFacts, j factsJSON) string { return j.best().Kind }},
	{"spacing_row_mm", func(_ study.FileFacts, j factsJSON) string { return j.best().Row.cell() }},
	{"spacing_column_mm", func(_ study.FileFacts, j factsJSON) string { return j.best().Column.cell() }},
	{"spacing_reason", func(f study.FileFacts, _ factsJSON) string { return study.NoteWords(f.SpacingReason) }},
	{"spacings_mm", func(f study.FileFacts, _ factsJSON) string { return strings.Join(spacingTexts(f), "; ") }},
	{"magnification_checked_against", func(f study.FileFacts, _ factsJSON) string { return f.CheckedAgainst }},
	{"pixel_aspect_ratio", func(f study.FileFacts, _ factsJSON) string { return ratioText(f) }},
	{"square", func(f study.FileFacts, _ factsJSON) string { return study.NoteWords(f.Square) }},
	{"collimated_field_px", func(f study.FileFacts, _ factsJSON) string { return fieldText(f, "%g %g %g %g") }},
	{"source_to_detector_mm", func(_ study.FileFacts, j factsJSON) string { return j.SourceImage.cell() }},
	{"source_to_patient_mm", func(_ study.FileFacts, j factsJSON) string { return j.SourcePatient.cell() }},
	{"magnification", func(_ study.FileFacts, j factsJSON) string { return j.Magnification.cell() }},
	{"rescale_slope", func(_ study.FileFacts, j factsJSON) string { return j.Slope.cell() }},
	{"rescale_intercept", func(_ study.FileFacts, j factsJSON) string { return j.Intercept.cell() }},
	{"modality_table_entries", func(_ study.FileFacts, j factsJSON) string { return j.ModalityTable.cell() }},
	{"windows", func(f study.FileFacts, _ factsJSON) string { return strings.Join(windowTexts(f.Greys), "; ") }},
	{"voi_tables", func(f study.FileFacts, _ factsJSON) string { return strings.Join(tableTexts(f.Greys), "; ") }},
	{"presentation_lut_shape", func(f study.FileFacts, _ factsJSON) string { return f.Greys.Shape }},
	{"padding", func(f study.FileFacts, _ factsJSON) string { return paddingText(f.Greys) }},
	{"pixels_sha256", func(f study.FileFacts, _ factsJSON) string { return f.PixelKey }},
	{"duplicate_of", func(f study.FileFacts, _ factsJSON) string { return f.DuplicateOf }},
	{"warnings", func(f study.FileFacts, _ factsJSON) string { return strings.Join(study.NotesWords(f.Warnings), "; ") }},
}

// best is the first statement of scale, which is the one in use.
func (j factsJSON) best() spacingJSON {
	if len(j.Spacings) == 0 {
		return spacingJSON{Row: none, Column: none}
	}
	return j.Spacings[0]
}

// yesIfRead is true or false, or nothing for a film that could not be read.
func yesIfRead(f study.FileFacts, v bool) string {
	if !f.Fault.IsZero() {
		return ""
	}
	return strconv.FormatBool(v)
}

func factsRows(facts []study.FileFacts) [][]string {
	rows := make([][]string, 1, len(facts)+1)
	for _, c := range factsColumns {
		rows[0] = append(rows[0], c.name)
	}
	for _, f := range facts {
		j := factsOf(f)
		var row []string
		for _, c := range factsColumns {
			row = append(row, c.cell(f, j))
		}
		rows = append(rows, row)
	}
	return rows
}
