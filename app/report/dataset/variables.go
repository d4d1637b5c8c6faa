package dataset

import (
	"fmt"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

// named is a variable of the study with the name of its columns.
type named struct {
	study.Variable
	column string
}

// nameVariables gives each variable a column name that no other column of the package has,
// in capitals or not: its own, or that with what it is of before it.
func nameVariables(list []study.Variable, taken map[string]bool) (out []named) {
	for _, v := range list {
		name := v.Name
		for n := 1; taken[strings.ToLower(name)]; n++ {
			name = string(v.Of) + "_" + v.Name
			if n > 1 {
				name += fmt.Sprint("_", n)
			}
		}
		taken[strings.ToLower(name)] = true
		out = append(out, named{v, name})
	}
	return out
}

// kind returns what values a variable has.
func (v named) kind() kind {
	switch v.Type {
	case study.Number:
		return aNumber
	case study.Integer:
		return kind{of: "integer"}
	case study.YesNo:
		return yesNo
	case study.Date:
		return aDay
	case study.Chosen:
		var choices []study.Choice
		for _, c := range v.Choices {
			choices = append(choices, study.Choice{Code: c})
		}
		return oneOf(choices)
	}
	return freeText
}

// label is what the study says of a variable, as far as Stata takes it.
func (v named) label() (label, how string) {
	label = oneLine(v.Label)
	if label == "" {
		label = oneLine(v.Name)
	}
	if r := []rune(label); len(r) > longestLabel {
		return string(r[:longestLabel]), label
	}
	return label, ""
}

// cell writes a value of a variable.
func (v named) cell(text string) string {
	switch {
	case text == "":
		return ""
	case v.Type == study.Number:
		f, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return ""
		}
		return numberCell(f)
	case v.Type == study.Integer:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return ""
		}
		return strconv.FormatInt(n, 10)
	case v.Type == study.YesNo:
		return yes(text == study.Yes)
	}
	return oneLine(text)
}

// variableColumns are those of the variables of patients, hips and, where rows are of films,
// films.
func variableColumns[T row](list []named, film func(T) string) (out []column[T]) {
	for _, v := range list {
		if v.Of == study.OfFilm && film == nil {
			continue
		}
		label, how := v.label()
		out = append(out, column[T]{v.column, label, how, v.Unit, v.kind(), func(r T) string {
			h := r.of()
			id := map[study.VariableOf]string{study.OfPatient: h.Hip.PatientID(), study.OfHip: h.Hip.ID}[v.Of]
			if v.Of == study.OfFilm {
				id = film(r)
			}
			return v.cell(valueOf(h.Values, v.Variable, id))
		}})
	}
	return out
}

// valueOf returns what a variable is of one patient, hip or film.
func valueOf(list []study.Value, v study.Variable, id string) string {
	for i := range list {
		if w := &list[i]; w.Of == v.Of && w.Name == v.Name && w.ID == id {
			return w.Text
		}
	}
	return ""
}
