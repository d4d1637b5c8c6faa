package study

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"linerwatch/assets/texts"
)

// VariableOf says what has values of a variable.
type VariableOf string

// What may have them.
const (
	OfPatient VariableOf = "patient"
	OfHip     VariableOf = "hip"
	OfFilm    VariableOf = "film"
)

// VariableType says which values a variable has.
type VariableType string

// The types of variables.
const (
	Number  VariableType = "number"
	Integer VariableType = "integer"
	Text    VariableType = "text"
	YesNo   VariableType = "yes-no" // Yes or No
	Date    VariableType = "date"   // ISO 8601
	Chosen  VariableType = "choice"
)

// Yes and No are the values of yes-no variables and of an Answer.
const (
	Yes = "yes"
	No  = "no"
)

// Variable is something that a study keeps of its patients, hips or films beyond what every
// study does.
type Variable struct {
	Of       VariableOf
	Name     string // of Of; as a table's column is named
	Type     VariableType
	Unit     string   // of a number; may be empty
	Choices  []string // of a choice
	Label    string   // what it means, in words; may be empty
	Revision int      // counts what has been saved of the variable; 0 for one that has not
}

// Value is what a variable is of one patient, hip or film.
type Value struct {
	Of   VariableOf
	Name string // of the variable
	ID   string // of the patient (Patient.ID), hip or film
	Text string // empty for one that is not known
}

// Validate checks a variable. The error is a *FaultsError.
func (v Variable) Validate() error {
	list := []Fault{{"name", nameFault(v.Name)}}
	if !slices.Contains([]VariableOf{OfPatient, OfHip, OfFilm}, v.Of) {
		list = append(list, Fault{"of", Note{Code: "fault.variable-of", Values: texts.Values{"Code": string(v.Of)}}})
	}
	if !slices.Contains([]VariableType{Number, Integer, Text, YesNo, Date, Chosen}, v.Type) {
		list = append(list, Fault{"type", Note{Code: "fault.variable-type", Values: texts.Values{"Code": string(v.Type)}}})
	}
	if (v.Type == Chosen) != (len(v.Choices) > 0) || slices.Contains(v.Choices, "") {
		list = append(list, Fault{"choices", Note{Code: "fault.variable-choices"}})
	}
	return faults(list)
}

func nameFault(name string) Note {
	if strings.TrimSpace(name) == "" || strings.ContainsAny(name, "\n\r\t") || name != strings.TrimSpace(name) {
		return Note{Code: "fault.variable-name", Values: texts.Values{"Code": name}}
	}
	return Note{}
}

// Check refuses a text that is no value of the variable; an empty one is allowed.
func (v Variable) Check(text string) error {
	ok := true
	switch {
	case text == "":
	case v.Type == Number:
		f, err := strconv.ParseFloat(text, 64)
		ok = err == nil && !math.IsNaN(f) && !math.IsInf(f, 0)
	case v.Type == Integer:
		_, err := strconv.ParseInt(text, 10, 64)
		ok = err == nil
	case v.Type == YesNo:
		ok = text == Yes || text == No
	case v.Type == Date:
		_, err := time.Parse(time.DateOnly, text)
		ok = err == nil
	case v.Type == Chosen:
		ok = slices.Contains(v.Choices, text)
	}
	if ok {
		return nil
	}
	return NewError("variable.value", texts.Values{"Name": v.Name, "Type": string(v.Type), "Text": text, "Choices": strings.Join(v.Choices, ", ")})
}

// CheckValue refuses a value of a variable that is none of known, or that is no value of
// it.
func CheckValue(known []Variable, v Value) error {
	i := slices.IndexFunc(known, func(o Variable) bool { return o.Of == v.Of && o.Name == v.Name })
	if i < 0 {
		return WrapError(ErrUnknown, "variable.unknown", texts.Values{"Name": v.Name, "Of": string(v.Of)})
	}
	return known[i].Check(v.Text)
}
