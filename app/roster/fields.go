package roster

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
)

// Subject is what a row tells of: a hip with its patient, or what happened to it.
type Subject struct {
	Hip     study.Hip
	Patient study.Patient
	Event   study.Event
	Film    study.Film
	Values  []study.Value // of the study's own variables, without the ID of whose they are
}

// Field is one thing that a study keeps and a column may hold.
type Field struct {
	Name    string         // as a column is called
	Unit    string         // that a number is in
	Type    string         // for people: "number", "date", "text", or the codes
	Choices []study.Choice // of a field that holds one of some codes
	Fault   string         // as study's Validate calls it
	also    []string
	put     func(s *Subject, text string, order DateOrder) study.Note
	text    func(s Subject) string
	clear   func(s *Subject)
}

// Text returns what a subject has of the field, as Put reads it; empty where it is not known.
func (f Field) Text(s Subject) string { return f.text(s) }

// Put puts a text in the field of a subject; an empty one is for what is not known. The note
// says what is wrong with it, and then the field stays as it is.
func (f Field) Put(s *Subject, text string) study.Note {
	if text == "" {
		f.clear(s)
		return study.Note{}
	}
	return f.put(s, text, "")
}

// DateOrder says how dates with slashes are written, which cannot be told by themselves.
type DateOrder string

// The orders. Without one such a date is refused.
const (
	DayFirst   DateOrder = "day-first"
	MonthFirst DateOrder = "month-first"
)

// keys are the fields by which a row finds its hip.
func keys() []Field {
	return []Field{
		aText("patient", "patient", func(s *Subject) *string { return &s.Patient.Code }, "patient_id", "patient_code", "patient_pid"),
		aText("site", "site", func(s *Subject) *string { return &s.Patient.Site }, "centre", "center"),
		side(),
	}
}

// implant are the fields of an implant.
func implant() []Field {
	of := func(s *Subject) *study.Implant { return &s.Hip.Implant }
	return []Field{
		aNumber("head_mm", "mm", "head", func(s *Subject) *float64 { return &of(s).HeadMM }, "head", "head_diameter", "head_diameter_mm"),
		aChoice("head_material", "material", study.HeadMaterials(), func(s *Subject) *string { return &of(s).HeadMaterial }),
		aNumber("liner_mm", "mm", "liner", func(s *Subject) *float64 { return &of(s).LinerMM }, "liner", "liner_thickness", "liner_thickness_mm"),
		aNumber("liner_inner_mm", "mm", "liner inside", func(s *Subject) *float64 { return &of(s).LinerInnerMM }, "liner_id_mm", "liner_inner_diameter"),
		aNumber("liner_outer_mm", "mm", "liner outside", func(s *Subject) *float64 { return &of(s).LinerOuterMM }, "liner_od_mm", "liner_outer_diameter"),
		aChoice("pe", "PE", study.PEKinds(), func(s *Subject) *string { return &of(s).PE }, "pe_type", "polyethylene"),
		aChoice("irradiated", "irradiated", study.Answers(), func(s *Subject) *study.Answer { return &of(s).Irradiated }),
		aNumber("dose_kgy", "kGy", "dose", func(s *Subject) *float64 { return &of(s).DoseKGy }, "dose", "irradiation_kgy"),
		aChoice("stabiliser", "stabiliser", study.Stabilisers(), func(s *Subject) *string { return &of(s).Stabiliser }, "stabilizer"),
		aChoice("lipped", "lip", study.Answers(), func(s *Subject) *study.Answer { return &of(s).Lipped }, "lip"),
		aNumber("shell_mm", "mm", "shell", func(s *Subject) *float64 { return &of(s).ShellMM }, "shell", "shell_od_mm", "shell_diameter"),
		aChoice("fixation", "fixation", study.Fixations(), func(s *Subject) *string { return &of(s).Fixation }),
		aText("catalogue", "catalogue", func(s *Subject) *string { return &of(s).Catalogue }, "catalogue_text"),
	}
}

// HipFields lists what a table of hips may hold.
func HipFields() []Field {
	of := []Field{
		aDate("surgery", "surgery", func(s *Subject) *time.Time { return &s.Hip.Surgery }, "surgery_date", "date_of_surgery", "operation_date"),
		aText("group", "group", func(s *Subject) *string { return &s.Hip.Group }, "arm", "study_group"),
		aNumber("age", "years", "age", func(s *Subject) *float64 { return &s.Hip.Age }, "age_at_surgery"),
		aChoice("sex", "sex", study.Sexes(), func(s *Subject) *string { return &s.Patient.Sex }),
		aNumber("height_cm", "cm", "height", func(s *Subject) *float64 { return &s.Patient.HeightCM }, "height"),
		aNumber("weight_kg", "kg", "weight", func(s *Subject) *float64 { return &s.Patient.WeightKG }, "weight"),
		aNumber("start_years", "years", "start", func(s *Subject) *float64 { return &s.Hip.StartYears }),
	}
	return slices.Concat(keys(), of, implant())
}

// FilmFields lists what a table of films may hold beside variables of the study's own.
func FilmFields() []Field {
	of := []Field{
		aDate("date", "date", func(s *Subject) *time.Time { return &s.Film.Given.Date }, "film_date", "date_of_film", "study_date"),
		aText("file", "file", func(s *Subject) *string { return &s.Film.Path }, "film_file", "file_name"),
	}
	return slices.Concat(keys(), of)
}

// EventFields lists what a table of events may hold. Of an exchange the fields of an implant
// are what the hip has since.
func EventFields() []Field {
	of := []Field{
		aChoice("event", "event", study.EventKinds(), func(s *Subject) *study.EventKind { return &s.Event.Kind }, "kind"),
		aDate("date", "date", func(s *Subject) *time.Time { return &s.Event.Date }, "event_date", "date_of_event"),
		aText("note", "note", func(s *Subject) *string { return &s.Event.Note }),
	}
	return slices.Concat(keys(), of, implant())
}

func aText(name, fault string, at func(s *Subject) *string, also ...string) Field {
	return held(Field{Name: name, Type: "text", also: also, Fault: fault}, at, func(v string) string { return v },
		func(text string, _ DateOrder) (string, study.Note) { return text, study.Note{} })
}

// held is a field whose value is at a place of a subject: write makes it a text, read a value.
func held[V comparable](f Field, at func(s *Subject) *V, write func(V) string, read func(text string, order DateOrder) (V, study.Note)) Field {
	var none V
	f.put = func(s *Subject, text string, order DateOrder) study.Note {
		v, why := read(text, order)
		if why.IsZero() {
			*at(s) = v
		}
		return why
	}
	f.text = func(s Subject) string {
		if v := *at(&s); v != none {
			return write(v)
		}
		return ""
	}
	f.clear = func(s *Subject) { *at(s) = none }
	return f
}

func aNumber(name, unit, fault string, at func(s *Subject) *float64, also ...string) Field {
	read := func(text string, _ DateOrder) (float64, study.Note) {
		v, ok := study.ParseNumber(text)
		switch {
		case !ok:
			return 0, study.Note{Code: "cell.no-number", Values: study.Values{"Text": text}}
		case v == 0 && name != "start_years": // which stands for one that is not known
			return 0, study.Note{Code: "cell.zero"}
		}
		return v, study.Note{}
	}
	return held(Field{Name: name, Unit: unit, Type: "number", also: also, Fault: fault}, at,
		func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }, read)
}

func aDate(name, fault string, at func(s *Subject) *time.Time, also ...string) Field {
	return held(Field{Name: name, Type: "date", also: also, Fault: fault}, at, func(t time.Time) string { return t.Format(time.DateOnly) }, date)
}

func aChoice[C ~string](name, fault string, choices []study.Choice, at func(s *Subject) *C, also ...string) Field {
	var codes []string
	for _, c := range choices {
		codes = append(codes, c.Code)
	}
	read := func(text string, _ DateOrder) (C, study.Note) {
		code, ok := choose(codes, text)
		if !ok {
			return "", study.Note{Code: "cell.choice", Values: study.Values{"Text": text, "Codes": strings.Join(codes, ", ")}}
		}
		return C(code), study.Note{}
	}
	return held(Field{Name: name, Type: strings.Join(codes, ", "), Choices: choices, also: also, Fault: fault}, at, func(c C) string { return string(c) }, read)
}

// choose returns the code that a text is, whatever its case, or that it begins where it is a
// single letter.
func choose(codes []string, text string) (string, bool) {
	text = strings.ToLower(strings.NewReplacer("_", " ", "-", " ").Replace(text))
	var found []string
	for _, c := range codes {
		switch low := strings.ToLower(c); {
		case low == text:
			return c, true
		case len(text) == 1 && strings.HasPrefix(low, text):
			found = append(found, c)
		}
	}
	if len(found) != 1 {
		return "", false
	}
	return found[0], true
}

func side() Field {
	right, left := study.Right.String(), study.Left.String()
	return held(Field{Name: "side", Type: right + ", " + left, Choices: []study.Choice{{Code: right, Words: right}, {Code: left, Words: left}},
		also: []string{"hip_side", "laterality"}, Fault: "side"},
		func(s *Subject) *study.Side { return &s.Hip.Side }, study.Side.String,
		func(text string, _ DateOrder) (study.Side, study.Note) {
			v, err := study.ParseSide(text)
			if err != nil || v == study.SideUnknown {
				return study.SideUnknown, study.Note{Code: "cell.side", Values: study.Values{"Text": text}}
			}
			return v, study.Note{}
		})
}

// date reads a day: 2004-05-31, 2004/05/31, 31.5.2004, and with slashes in an order that is told.
func date(text string, order DateOrder) (time.Time, study.Note) {
	if day, clock, ok := strings.Cut(strings.Replace(text, "T", " ", 1), " "); ok && strings.Trim(clock, "0123456789:.Z") == "" {
		text = day
	}
	layouts := []string{time.DateOnly, "2006/1/2", "2.1.2006"}
	switch order {
	case DayFirst:
		layouts = append(layouts, "2/1/2006")
	case MonthFirst:
		layouts = append(layouts, "1/2/2006")
	}
	for _, l := range layouts {
		if t, err := time.Parse(l, text); err == nil {
			return t, study.Note{}
		}
	}
	for _, l := range []string{"2/1/2006", "1/2/2006"} {
		if _, err := time.Parse(l, text); err == nil && order == "" {
			return time.Time{}, study.Note{Code: "cell.slashes"}
		}
	}
	return time.Time{}, study.Note{Code: "cell.day", Values: study.Values{"Text": text}}
}
