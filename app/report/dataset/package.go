package dataset

import (
	"encoding/json"
	"runtime/debug"
	"strings"
	"time"

	"linerwatch/app/report"
	"linerwatch/app/study"
)

// packageFile is the file that describes a package by the Data Package standard.
const packageFile = "datapackage.json"

type packageJSON struct {
	Profile     string         `json:"profile"`
	Name        string         `json:"name"`
	Title       string         `json:"title"`
	Description string         `json:"description"`
	Created     string         `json:"created,omitempty"`
	Program     programJSON    `json:"program"`
	Resources   []resourceJSON `json:"resources"`
}

// programJSON is what the standard has no word for.
type programJSON struct {
	Name         string `json:"name"`
	Version      string `json:"version"`
	Commit       string `json:"commit,omitempty"`
	ReadingsOf   string `json:"readings_of"`
	Deidentified bool   `json:"deidentified"`
	TrailRow     int64  `json:"trail_row,omitempty"` // of the study's audit trail, the last before the export
	TrailHash    string `json:"trail_hash,omitempty"`
}

type resourceJSON struct {
	Name      string       `json:"name"`
	Title     string       `json:"title"`
	Path      string       `json:"path"`
	Profile   string       `json:"profile,omitempty"`
	Format    string       `json:"format"`
	MediaType string       `json:"mediatype"`
	Encoding  string       `json:"encoding"`
	Bytes     int64        `json:"bytes"`
	Hash      string       `json:"hash"`
	Rows      *int         `json:"rows,omitempty"`
	Dialect   *dialectJSON `json:"dialect,omitempty"`
	Schema    *schemaJSON  `json:"schema,omitempty"`
}

type dialectJSON struct {
	Delimiter      string `json:"delimiter"`
	LineTerminator string `json:"lineTerminator"`
	QuoteChar      string `json:"quoteChar"`
	DoubleQuote    bool   `json:"doubleQuote"`
	Header         bool   `json:"header"`
}

type schemaJSON struct {
	Fields        []fieldJSON   `json:"fields"`
	MissingValues []string      `json:"missingValues"`
	PrimaryKey    []string      `json:"primaryKey,omitempty"`
	ForeignKeys   []foreignJSON `json:"foreignKeys,omitempty"`
}

type fieldJSON struct {
	Name        string           `json:"name"`
	Title       string           `json:"title"`
	Description string           `json:"description,omitempty"`
	Type        string           `json:"type"`
	Format      string           `json:"format,omitempty"`
	TrueValues  []string         `json:"trueValues,omitempty"`
	FalseValues []string         `json:"falseValues,omitempty"`
	Unit        string           `json:"unit,omitempty"`
	Labels      []labelJSON      `json:"labels,omitempty"` // of the codes
	Constraints *constraintsJSON `json:"constraints,omitempty"`
}

type labelJSON struct {
	Code  string `json:"code"`
	Label string `json:"label"`
}

type constraintsJSON struct {
	Required bool     `json:"required,omitempty"`
	Unique   bool     `json:"unique,omitempty"`
	Minimum  *float64 `json:"minimum,omitempty"`
	Maximum  *float64 `json:"maximum,omitempty"`
	Enum     []string `json:"enum,omitempty"`
}

type foreignJSON struct {
	Fields    []string      `json:"fields"`
	Reference referenceJSON `json:"reference"`
}

type referenceJSON struct {
	Resource string   `json:"resource"`
	Fields   []string `json:"fields"`
}

// describe writes the scripts and datapackage.json.
func (e *export) describe() error {
	name := e.Name
	if e.Deidentified {
		name = "" // a file's name may tell
	}
	p := packageJSON{Profile: "data-package", Name: slug(name), Title: "Polyethylene wear of total hips",
		Description: "Written by linerwatch. NA stands for what is not known or does not apply. An apostrophe before a text that begins with = + - @, a tab or a line end, or that is NA, " +
			"keeps spreadsheets from running it, and is no part of it; the scripts load.* take it off. codebook.csv says what each column is.",
		Program: programJSON{"linerwatch", e.Version, commit(), e.mask.readerTold(report.WhoseCode(e.Whose)), e.Deidentified, e.told.Row, e.hash}}
	if !e.Altered.IsZero() {
		p.Description += " " + study.NoteWords(e.Altered)
	}
	if date := e.date(); !date.IsZero() {
		p.Created = when(date)
	}
	for _, t := range e.tables.list() {
		r, err := e.resource(t)
		if err != nil {
			return err
		}
		p.Resources = append(p.Resources, r)
	}
	for _, s := range scripts {
		if err := e.files.whole(s.file, s.write(e.toLoad())); err != nil {
			return err
		}
		sum, err := e.files.hash(s.file)
		if err != nil {
			return err
		}
		p.Resources = append(p.Resources, resourceJSON{Name: slug(s.file), Title: "loads the tables into " + s.into, Path: s.file, Format: s.format,
			MediaType: "text/plain", Encoding: "utf-8", Bytes: e.files.size(s.file), Hash: "sha256:" + sum})
	}
	text, err := json.MarshalIndent(p, "", "  ")
	if err != nil {
		return err
	}
	return e.files.whole(packageFile, append(text, '\n'))
}

// date is that of the package. Where nobody shall be told when people worked, that of the
// last change is not told.
func (e *export) date() time.Time {
	if e.Date.IsZero() && !e.Deidentified {
		return e.last
	}
	return e.Date
}

func (e *export) resource(t table) (resourceJSON, error) {
	name := fileOf(t.name)
	sum, err := e.files.hash(name)
	rows := e.told.Rows[t.name]
	return resourceJSON{Name: t.name, Title: t.title, Path: name, Profile: "tabular-data-resource", Format: "csv", MediaType: "text/csv", Encoding: "utf-8",
		Bytes: e.files.size(name), Hash: "sha256:" + sum, Rows: &rows, Dialect: &dialectJSON{",", "\r\n", `"`, true, true}, Schema: schemaOf(t)}, err
}

func schemaOf(t table) *schemaJSON {
	s := &schemaJSON{MissingValues: []string{missing}, PrimaryKey: t.key}
	for _, f := range t.fields {
		s.Fields = append(s.Fields, fieldOf(f, t.key))
	}
	for _, r := range t.refers {
		s.ForeignKeys = append(s.ForeignKeys, foreignJSON{r.columns, referenceJSON{r.table, r.columns}})
	}
	return s
}

func fieldOf(f field, key []string) fieldJSON {
	out := fieldJSON{Name: f.name, Title: f.label, Description: f.how, Type: f.kind.of, Unit: f.unit}
	c := constraintsJSON{Minimum: f.least, Maximum: f.most}
	for _, k := range key {
		c.Required = c.Required || k == f.name
		c.Unique = len(key) == 1 && c.Required
	}
	for _, choice := range f.choices {
		c.Enum = append(c.Enum, study.GuardText(choice.Code)) // as the cells are
		if choice.Words != "" {
			out.Labels = append(out.Labels, labelJSON{choice.Code, choice.Words})
		}
	}
	if f.kind.of == "boolean" {
		out.TrueValues, out.FalseValues = []string{"1"}, []string{"0"}
	}
	if c.Required || c.Minimum != nil || c.Maximum != nil || c.Enum != nil {
		out.Constraints = &c
	}
	return out
}

// slug is a name as the standard has them: small letters, digits, dots, hyphens and
// underscores.
func slug(name string) string {
	out := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '.' || r == '-' || r == '_':
			return r
		case r == ' ':
			return '-'
		}
		return -1
	}, strings.ToLower(name))
	if out = strings.Trim(out, ".-_"); out == "" {
		return "study"
	}
	return out
}

// commit is that of the source of which the program was built, empty where it does not know.
func commit() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return ""
	}
	revision, changed := "", ""
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision":
			revision = s.Value
		case s.Key == "vcs.modified" && s.Value == "true":
			changed = " with changes"
		}
	}
	if revision == "" {
		return ""
	}
	return revision + changed
}
