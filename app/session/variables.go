package session

import (
	"context"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// Variables returns the study's own variables, in order of what they are of and of name.
func (b *Book) Variables() ([]study.Variable, error) {
	if b.store == nil {
		return nil, ErrNoStudy
	}
	return b.store.Variables(context.Background())
}

// VariableForm is the form in which one of the study's own variables is asked.
type VariableForm struct {
	Form
	Why string // of a change
	was study.Variable
}

// The fields of a VariableForm.
const (
	FieldOf      = "of"
	FieldName    = "name"
	FieldType    = "type"
	FieldUnit    = "unit"
	FieldChoices = "choices"
	FieldLabel   = "label"
)

// NewVariableForm returns the form of a variable; of a new one for one without a name. What a
// variable is of and its name stay as they are once it is saved.
func NewVariableForm(v study.Variable) VariableForm {
	choices := strings.Join(v.Choices, "; ")
	list := []Ask{
		{Field: FieldType, Label: say("asked.type"), Hint: say("asked.choose"), Choices: variableTypes(), Text: string(v.Type), was: string(v.Type), Needed: true},
		{Field: FieldUnit, Label: say("asked.unit"), Hint: say("asked.unit-hint"), Text: v.Unit, was: v.Unit},
		{Field: FieldChoices, Label: say("asked.choices"), Hint: say("asked.choices-hint"), Text: choices, was: choices},
		{Field: FieldLabel, Label: say("asked.label"), Hint: say("asked.label-hint"), Text: v.Label, was: v.Label},
	}
	if v.Revision == 0 {
		list = append([]Ask{
			{Field: FieldName, Label: say("asked.name"), Hint: say("asked.name-hint"), Needed: true},
			{Field: FieldOf, Label: say("asked.whose"), Hint: say("asked.choose"), Choices: variableOwners(), Needed: true},
		}, list...)
	}
	return VariableForm{Form: Form{[]Block{{"", list}}}, was: v}
}

func variableOwners() []study.Choice {
	return []study.Choice{{Code: string(study.OfPatient), Words: say("asked.a-patient")},
		{Code: string(study.OfHip), Words: say("asked.a-hip")}, {Code: string(study.OfFilm), Words: say("asked.a-film")}}
}

// OwnerWords says what a variable is of.
func OwnerWords(of study.VariableOf) string { return study.Words(variableOwners(), string(of)) }

func variableTypes() []study.Choice {
	return []study.Choice{
		{Code: string(study.Number), Words: say("asked.a-number")}, {Code: string(study.Integer), Words: say("asked.an-integer")},
		{Code: string(study.Text), Words: say("asked.a-text")}, {Code: string(study.YesNo), Words: say("asked.a-yes-no")},
		{Code: string(study.Date), Words: say("asked.a-day")}, {Code: string(study.Chosen), Words: say("asked.a-choice")},
	}
}

// TypeWords says which values a variable has.
func TypeWords(v study.Variable) string {
	text := study.Words(variableTypes(), string(v.Type))
	if v.Unit != "" {
		text += ", " + v.Unit
	}
	if len(v.Choices) > 0 {
		text += ": " + strings.Join(v.Choices, ", ")
	}
	return text
}

// Read reads the form of a variable.
func (f VariableForm) Read() (study.Variable, []FormFault) {
	v := f.was
	if v.Revision == 0 {
		v.Name, v.Of = strings.TrimSpace(f.Text(FieldName)), study.VariableOf(f.Text(FieldOf))
	}
	v.Type, v.Unit, v.Label = study.VariableType(f.Text(FieldType)), strings.TrimSpace(f.Text(FieldUnit)), strings.TrimSpace(f.Text(FieldLabel))
	v.Choices = nil
	for one := range strings.SplitSeq(f.Text(FieldChoices), ";") {
		if one = strings.TrimSpace(one); one != "" && !slices.Contains(v.Choices, one) {
			v.Choices = append(v.Choices, one)
		}
	}
	faults := f.join(nil, v.Validate())
	if f.was.Revision > 0 && f.corrects() && strings.TrimSpace(f.Why) == "" {
		faults = append(faults, FormFault{FieldWhy, say("asked.why-needed")})
	}
	return v, faults
}

// SaveVariable saves a new variable of the study, or a changed one with why.
func (b *Book) SaveVariable(v study.Variable, why string) error {
	if b.store == nil {
		return ErrNoStudy
	}
	if v.Revision == 0 {
		list, err := b.Variables()
		if err != nil {
			return err
		}
		if slices.ContainsFunc(list, func(o study.Variable) bool { return o.Of == v.Of && o.Name == v.Name }) {
			return study.NewError("asked.variable-there", study.Values{"Name": v.Name, "Of": OwnerWords(v.Of)})
		}
	}
	_, err := b.store.SaveVariable(context.Background(), v, b.s.because(why))
	return err
}
