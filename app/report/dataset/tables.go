package dataset

// tables are the tables of a package.
type tables struct {
	patients    *list[*patientRow]
	hips        *list[*hipRow]
	films       *list[*filmRow]
	unsorted    *list[*waitingRow]
	readings    *list[*readingRow]
	penetration *list[*readingRow]
	fits        *list[*fitRow]
	agreement   *list[*agreedRow]
	events      *list[*eventRow]
	grades      *list[*gradeRow]
	disclosures *list[*disclosureRow]
	codebook    *list[*bookRow]
}

// newTables makes the tables as the mask lets them be told. Each begins with what its rows are
// compared by: hip, patient, group and side.
func newTables(m *mask, variables []named) tables {
	hip := []reference{{[]string{"hip_id"}, "hips"}}
	film := append([]reference{{[]string{"hip_id", "film_id"}, "films"}}, hip...)
	return tables{
		patients: newList(m, table{name: "patients", title: "patients", key: []string{"patient"}}, patientColumns(variables)),
		hips: newList(m, table{name: "hips", title: "hips, with what was worked out of their films", key: []string{"hip_id"},
			refers: []reference{{[]string{"patient"}, "patients"}}}, shared[*hipRow](variables, nil), hipColumns()),
		films: newList(m, table{name: "films", title: "films of hips, with the reading of each that counts", key: []string{"hip_id", "film_id"},
			refers: hip}, shared(variables, (*filmRow).id), filmColumns()),
		unsorted: newList(m, table{name: "unsorted", title: "films of no hip", key: []string{"film_id"}}, waitingColumns()),
		readings: newList(m, table{name: "readings", title: "readings of every reader, and outlines that nobody has accepted",
			key: []string{"hip_id", "film_id", "row_no"}, refers: film}, shared(variables, (*readingRow).id), readingColumns()),
		penetration: newList(m, table{name: "penetration", title: "penetration since the baseline film, a row a reading", key: []string{"reading_id"},
			refers: film}, shared(variables, (*readingRow).id), penetrationColumns()),
		fits: newList(m, table{name: "fits", title: "numbers that models tell of each series of a hip", key: []string{"hip_id", "series", "model", "quantity"},
			refers: hip}, shared[*fitRow](variables, nil), fitColumns()),
		agreement: newList(m, table{name: "agreement", title: "agreement of the readings that stand, superior offset"}, agreedColumns()),
		events: newList(m, table{name: "events", title: "what happened to hips after surgery", key: []string{"hip_id", "event_no"},
			refers: hip}, shared[*eventRow](variables, nil), eventColumns()),
		grades: newList(m, table{name: "grades", title: "how good readers found films", key: []string{"hip_id", "film_id", "grade_no"},
			refers: film}, shared(variables, (*gradeRow).id), gradeColumns()),
		disclosures: newList(m, table{name: "disclosures", title: "who was told numbers: while reading lists were open, and on pages that were handed out",
			key: []string{"disclosure_no"}}, disclosureColumns()),
		codebook: newList(m, table{name: "codebook", title: "what each column is", key: []string{"table", "column"}}, bookColumns()),
	}
}

// list lists them in order.
func (t tables) list() []table {
	return []table{t.patients.table, t.hips.table, t.films.table, t.unsorted.table, t.readings.table,
		t.penetration.table, t.fits.table, t.agreement.table, t.events.table, t.grades.table, t.disclosures.table, t.codebook.table}
}

const (
	patientLabel = "code of the patient, never a name"
	patientHow   = "with the site's code before it where there is one"
)

// shared are the columns by which rows of different tables belong together and are compared,
// the study's own variables among them; film is that of a row, where rows are of films.
func shared[T row](variables []named, film func(T) string) []column[T] {
	return append([]column[T]{
		{"hip_id", "code of the hip", "", "", aHip, func(v T) string { return v.of().Hip.ID }},
		{"patient", patientLabel, patientHow, "", aPatient, func(v T) string { return patientCode(v.of().Hip.Site, v.of().Hip.Patient) }},
		{"site", "code of the site", "", "", aSite, func(v T) string { return oneLine(v.of().Hip.Site) }},
		{"group", "group of the study", "", "", aWord, func(v T) string { return oneLine(v.of().Hip.Group) }},
		{"side", "side of the body", "", "", sides(), func(v T) string { return v.of().Hip.Side.String() }},
	}, variableColumns(variables, film)...)
}

// bookRow is a line of the codebook.
type bookRow struct {
	table string
	field
}

func (*bookRow) of() *hipRow { return nil }

func bookColumns() []column[*bookRow] {
	return []column[*bookRow]{
		{"table", "table of the column", "", "", aWord, func(b *bookRow) string { return b.table }},
		{"column", "name of the column", "", "", aWord, func(b *bookRow) string { return b.name }},
		{"label", "what the column is", "", "", aWord, func(b *bookRow) string { return b.label }},
		{"how", "how it is computed, or what else is to be known", "", "", aWord, func(b *bookRow) string { return b.how }},
		{"type", "type by the Table Schema standard", "", "", aWord, func(b *bookRow) string { return b.kind.of }},
		{"unit", "unit", "none for a pure number and for what is no number", "", aWord, func(b *bookRow) string {
			if b.unit == "" {
				return "none"
			}
			return b.unit
		}},
		{"values", "values that there may be", "", "", aWord, func(b *bookRow) string { return b.values() }},
		{"missing", "what stands for a value that is not known or does not apply", "in double quotes", "", aWord, func(b *bookRow) string { return `"` + missing + `"` }},
		{"apostrophe", "whether an apostrophe guards texts", "it stands before a text that begins with = + - @, a tab or a line end, or is NA, and is no part of it", "", yesNo,
			func(b *bookRow) string { return yes(b.text()) }},
	}
}
