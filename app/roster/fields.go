package roster

import (
	"slices"
	"strings"
	"time"

	"linerwatch/app/study"
)

// Subject is what a row tells of: a hip with its patient, or what happened to it.
type Subject struct {
	Hip     study.Hip
	Patient study.Patient
	Event   study.Event
	Values  []study.Value // of the study's own variables, without the ID of whose they are
}

// Field is one thing that a study keeps and a column may hold.
type Field struct {
	Name  string // as a column is called
	Unit  string // that a number is in
	Type  string // for people: "number", "date", "text", or the codes
	also  []string
	fault string // as study's Validate calls it
	put   func(s *Subject, text string, order DateOrder) study.Note
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
		{Name: "side", Type: "right, left", also: []string{"hip_side", "laterality"}, fault: "side", put: putSide},
	}
}

// implant are the fields of an implant.
func implant() []Field {
	of := func(s *Subject) *study.Implant { return &s.Hip.Implant }
	return []Field{
		aNumber("head_mm", "mm", "head", func(s *Subject) *float64 { return &of(s).HeadMM }, "head", "head_diameter", "head_diameter_mm"),
		aChoice("head_material", "material", study.HeadMaterials(), func(s *Subject, code string) { of(s).HeadMaterial = code }),
		aNumber("liner_mm", "mm", "liner", func(s *Subject) *float64 { return &of(s).LinerMM }, "liner", "liner_thickness", "liner_thickness_mm"),
		aNumber("liner_inner_mm", "mm", "liner inside", func(s *Subject) *float64 { return &of(s).LinerInnerMM }, "liner_id_mm", "liner_inner_diameter"),
		aNumber("liner_outer_mm", "mm", "liner outside", func(s *Subject) *float64 { return &of(s).LinerOuterMM }, "liner_od_mm", "liner_outer_diameter"),
		aChoice("pe", "PE", study.PEKinds(), func(s *Subject, code string) { of(s).PE = code }, "pe_type", "polyethylene"),
		aChoice("irradiated", "irradiated", study.Answers(), func(s *Subject, code string) { of(s).Irradiated = study.Answer(code) }),
		aNumber("dose_kgy", "kGy", "dose", func(s *Subject) *float64 { return &of(s).DoseKGy }, "dose", "irradiation_kgy"),
		aChoice("stabiliser", "stabiliser", study.Stabilisers(), func(s *Subject, code string) { of(s).Stabiliser = code }, "stabilizer"),
		aChoice("lipped", "lip", study.Answers(), func(s *Subject, code string) { of(s).Lipped = study.Answer(code) }, "lip"),
		aNumber("shell_mm", "mm", "shell", func(s *Subject) *float64 { return &of(s).ShellMM }, "shell", "shell_od_mm", "shell_diameter"),
		aChoice("fixation", "fixation", study.Fixations(), func(s *Subject, code string) { of(s).Fixation = code }),
		aText("catalogue", "catalogue", func(s *Subject) *string { return &of(s).Catalogue }, "catalogue_text"),
	}
}

// HipFields lists what a table of hips may hold.
func HipFields() []Field {
	of := []Field{
		aDate("surgery", "surgery", func(s *Subject) *time.Time { return &s.Hip.Surgery }, "surgery_date", "date_of_surgery", "operation_date"),
		aText("group", "group", func(s *Subject) *string { return &s.Hip.Group }, "arm", "study_group"),
		aNumber("age", "years", "age", func(s *Subject) *float64 { return &s.Hip.Age }, "age_at_surgery"),
		aChoice("sex", "sex", study.Sexes(), func(s *Subject, code string) { s.Patient.Sex = code }),
		aNumber("height_cm", "cm", "height", func(s *Subject) *float64 { return &s.Patient.HeightCM }, "height"),
		aNumber("weight_kg", "kg", "weight", func(s *Subject) *float64 { return &s.Patient.WeightKG }, "weight"),
		aNumber("start_years", "years", "start", func(s *Subject) *float64 { return &s.Hip.StartYears }),
	}
	return slices.Concat(keys(), of, implant())
}

// EventFields lists what a table of events may hold. Of an exchange the fields of an implant
// are what the hip has since.
func EventFields() []Field {
	of := []Field{
		aChoice("event", "event", study.EventKinds(), func(s *Subject, code string) { s.Event.Kind = study.EventKind(code) }, "kind"),
		aDate("date", "date", func(s *Subject) *time.Time { return &s.Event.Date }, "event_date", "date_of_event"),
		aText("note", "note", func(s *Subject) *string { return &s.Event.Note }),
	}
	return slices.Concat(keys(), of, implant())
}

func aText(name, fault string, at func(s *Subject) *string, also ...string) Field {
	return Field{Name: name, Type: "text", also: also, fault: fault, put: func(s *Subject, text string, _ DateOrder) study.Note {
		*at(s) = text
		return study.Note{}
	}}
}

func aNumber(name, unit, fault string, at func(s *Subject) *float64, also ...string) Field {
	return Field{Name: name, Unit: unit, Type: "number", also: also, fault: fault, put: func(s *Subject, text string, _ DateOrder) study.Note {
		v, ok := study.ParseNumber(text)
		switch {
		case !ok:
			return study.Note{Code: "cell.no-number", Values: study.Values{"Text": text}}
		case v == 0 && name != "start_years": // which stands for one that is not known
			return study.Note{Code: "cell.zero"}
		}
		*at(s) = v
		return study.Note{}
	}}
}

func aDate(name, fault string, at func(s *Subject) *time.Time, also ...string) Field {
	return Field{Name: name, Type: "date", also: also, fault: fault, put: func(s *Subject, text string, order DateOrder) study.Note {
		day, why := date(text, order)
		*at(s) = day
		return why
	}}
}

func aChoice(name, fault string, choices []study.Choice, set func(s *Subject, code string), also ...string) Field {
	var codes []string
	for _, c := range choices {
		codes = append(codes, c.Code)
	}
	return Field{Name: name, Type: strings.Join(codes, ", "), also: also, fault: fault, put: func(s *Subject, text string, _ DateOrder) study.Note {
		code, ok := choose(codes, text)
		if !ok {
			return study.Note{Code: "cell.choice", Values: study.Values{"Text": text, "Codes": strings.Join(codes, ", ")}}
		}
		set(s, code)
		return study.Note{}
	}}
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

func putSide(s *Subject, text string, _ DateOrder) study.Note {
	side, err := study.ParseSide(text)
	if err != nil || side == study.SideUnknown {
		return study.Note{Code: "cell.side", Values: study.Values{"Text": text}}
	}
	s.Hip.Side = side
	return study.Note{}
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
