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
		{Field: FieldType, Label: words("asked.type", nil), Hint: words("asked.choose", nil), Choices: variableTypes(), Text: string(v.Type), was: string(v.Type), Needed: true},
		{Field: FieldUnit, Label: words("asked.unit", nil), Hint: words("asked.unit-hint", nil), Text: v.Unit, was: v.Unit},
		{Field: FieldChoices, Label: words("asked.choices", nil), Hint: words("asked.choices-hint", nil), Text: choices, was: choices},
		{Field: FieldLabel, Label: words("asked.label", nil), Hint: words("asked.label-hint", nil), Text: v.Label, was: v.Label},
	}
	if v.Revision == 0 {
		list = append([]Ask{
			{Field: FieldName, Label: words("asked.name", nil), Hint: words("asked.name-hint", nil), Needed: true},
			{Field: FieldOf, Label: words("asked.whose", nil), Hint: words("asked.choose", nil), Choices: variableOwners(), Needed: true},
		}, list...)
	}
	return VariableForm{Form: Form{[]Block{{"", list}}}, was: v}
}

func variableOwners() []study.Choice {
	return []study.Choice{{Code: string(study.OfPatient), Words: words("asked.a-patient", nil)},
		{Code: string(study.OfHip), Words: words("asked.a-hip", nil)}, {Code: string(study.OfFilm), Words: words("asked.a-film", nil)}}
}

// OwnerWords says what a variable is of.
func OwnerWords(of study.VariableOf) string { return study.Words(variableOwners(), string(of)) }

func variableTypes() []study.Choice {
	return []study.Choice{
		{Code: string(study.Number), Words: words("asked.a-number", nil)}, {Code: string(study.Integer), Words: words("asked.an-integer", nil)},
		{Code: string(study.Text), Words: words("asked.a-text", nil)}, {Code: string(study.YesNo), Words: words("asked.a-yes-no", nil)},
		{Code: string(study.Date), Words: words("asked.a-day", nil)}, {Code: string(study.Chosen), Words: words("asked.a-choice", nil)},
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
	if f.was.Revision > 0 && f.corrects() && f.Why == "" {
		faults = append(faults, FormFault{FieldWhy, words("asked.why-needed", nil)})
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
