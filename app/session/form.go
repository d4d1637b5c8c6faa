package session

import (
	"errors"
	"slices"
	"strings"

	"linerwatch/app/roster"
	"linerwatch/app/study"
)

// Ask is one thing that a form asks, as text.
type Ask struct {
	Field   string // as faults name it
	Label   string
	Hint    string // what may be entered, or what none of Choices means; may be empty
	Unit    string
	Choices []study.Choice // of what is chosen by its code; nil where it is typed
	Needed  bool
	Text    string // what is entered, or the code; empty for what is not known
	was     string
	field   *roster.Field   // nil for a variable, or for what only the form has
	of      *study.Variable // nil where it is none of the study's own
}

// Block is some of what a form asks, under a heading.
type Block struct {
	Name string
	Asks []Ask
}

// Form is what a form asks.
type Form struct{ Blocks []Block }

// ask returns what is asked of a field; nil where the form does not.
func (f Form) ask(field string) *Ask {
	for _, p := range f.Blocks {
		if i := slices.IndexFunc(p.Asks, func(a Ask) bool { return a.Field == field }); i >= 0 {
			return &p.Asks[i]
		}
	}
	return nil
}

// Text returns what is entered of a field, "" where the form does not ask it.
func (f Form) Text(field string) string {
	if a := f.ask(field); a != nil {
		return a.Text
	}
	return ""
}

// Enter enters a text, or a code, of a field. It reports whether the form asks that.
func (f Form) Enter(field, text string) bool {
	a := f.ask(field)
	if a != nil {
		a.Text = text
	}
	return a != nil
}

// all returns everything that is asked.
func (f Form) all() (list []*Ask) {
	for _, p := range f.Blocks {
		for i := range p.Asks {
			list = append(list, &p.Asks[i])
		}
	}
	return list
}

// corrects reports whether something that was known is changed.
func (f Form) corrects() bool {
	return slices.ContainsFunc(f.all(), func(a *Ask) bool { return a.was != "" && a.entered() != a.was })
}

// entered is the text without spaces around it and without the unit.
func (a Ask) entered() string {
	text := strings.TrimSpace(a.Text)
	if a.Unit != "" && a.Choices == nil {
		text = strings.TrimSpace(strings.TrimSuffix(text, a.Unit))
	}
	return text
}

// value is what is entered of a variable, of what has the ID.
func (a Ask) value(id string) (study.Value, study.Note) {
	v, why := roster.ValueOf(*a.of, a.entered(), "")
	v.ID = id
	return v, why
}

// FormFault is a fault in one field.
type FormFault struct{ Field, Message string }

// into puts what is entered of fields and variables in s.
func (f Form) into(s *roster.Subject) (faults []FormFault) {
	for _, a := range f.all() {
		var why study.Note
		switch {
		case a.field != nil:
			why = a.field.Put(s, a.entered())
		case a.of != nil:
			var v study.Value
			if v, why = a.value(""); why.IsZero() {
				s.Values = append(s.Values, v)
			}
		}
		if !why.IsZero() {
			faults = append(faults, FormFault{a.Field, study.NoteWords(why)})
		}
	}
	s.Hip.Site, s.Hip.Patient = s.Patient.Site, s.Patient.Code
	return faults
}

// join adds the faults of err, of study's Validate, in fields that have none yet.
func (f Form) join(faults []FormFault, err error) []FormFault {
	var list *study.FaultsError
	switch {
	case err == nil:
		return faults
	case !errors.As(err, &list):
		return append(faults, FormFault{"", study.Told(err)})
	}
	for _, one := range list.Faults {
		field := one.Field
		for _, a := range f.all() {
			if a.field != nil && a.field.Fault == one.Field {
				field = a.Field
			}
		}
		if !slices.ContainsFunc(faults, func(k FormFault) bool { return k.Field == field }) {
			faults = append(faults, FormFault{field, study.NoteWords(one.Why)})
		}
	}
	return faults
}

// asks returns what is asked of the named fields, filled with what s has.
func asks(fields []roster.Field, s roster.Subject, names ...string) (list []Ask) {
	for _, name := range names {
		i := slices.IndexFunc(fields, func(f roster.Field) bool { return f.Name == name })
		if i < 0 {
			panic("session: " + name) // which is no field
		}
		f := fields[i]
		text := f.Text(s)
		list = append(list, Ask{Field: f.Name, Label: labelOf(f.Name), Hint: hintOf(f), Unit: f.Unit, Choices: f.Choices, Text: text, was: text, field: &f})
	}
	return list
}

// implantFields are the fields of an implant, in the order in which a form asks them.
func implantFields() []string {
	return []string{"head_mm", "head_material", "liner_mm", "liner_inner_mm", "liner_outer_mm", "pe", "irradiated", "dose_kgy", "stabiliser", "lipped",
		"shell_mm", "fixation", "catalogue"}
}

// labelOf is what a field is called.
func labelOf(field string) string {
	return say(map[string]string{
		"patient": "asked.patient", "site": "asked.site", "sex": "asked.sex", "height_cm": "asked.height", "weight_kg": "asked.weight",
		"side": "asked.side", "surgery": "asked.surgery", "group": "asked.group", "age": "asked.age", "start_years": "asked.start",
		"head_mm": "asked.head", "head_material": "asked.material", "liner_mm": "asked.liner", "liner_inner_mm": "asked.inner", "liner_outer_mm": "asked.outer",
		"pe": "asked.pe", "irradiated": "asked.irradiated", "dose_kgy": "asked.dose", "stabiliser": "asked.stabiliser", "lipped": "asked.lipped",
		"shell_mm": "asked.shell", "fixation": "asked.fixation", "catalogue": "asked.catalogue",
		"event": "asked.event", "date": "asked.date", "note": "asked.note",
	}[field])
}

// hintOf says what may be entered in a field, "" where that is plain.
func hintOf(f roster.Field) string {
	key := map[string]string{
		"patient": "asked.patient-hint", "site": "asked.site-hint", "group": "asked.group-hint", "head_mm": "asked.head-hint", "shell_mm": "asked.shell-hint",
		"catalogue": "asked.catalogue-hint", "start_years": "asked.start-hint", "note": "asked.note-hint",
	}[f.Name]
	if f.Type == "date" {
		key = "asked.date-hint"
	}
	if key == "" {
		return ""
	}
	return say(key)
}

// ofVariable is what is asked of one of the study's own variables.
func ofVariable(v study.Variable, text string) Ask {
	a := Ask{Field: string(v.Of) + " " + v.Name, Label: v.Name, Unit: v.Unit, Text: text, was: text, of: &v}
	if v.Label != "" {
		a.Label = v.Label
	}
	switch v.Type {
	case study.YesNo:
		a.Choices = study.Answers()
	case study.Chosen:
		for _, c := range v.Choices {
			a.Choices = append(a.Choices, study.Choice{Code: c, Words: c})
		}
	case study.Date:
		a.Hint = say("asked.date-hint")
	}
	return a
}
