package roster

import (
	"slices"
	"strings"

	"linerwatch/app/study"
)

// Given is what a person says of a column in place of what its name says.
type Given struct{ Column, To string }

// ParseGiven reads COLUMN=FIELD. FIELD is the name of a field; none, to leave the column out;
// or patient, hip or film with a type and what that takes, for a variable of the study's own:
// patient:number:kg/m2, hip:choice:posterior|lateral, film:number:degrees.
func ParseGiven(text string) (Given, error) {
	i := strings.LastIndexByte(text, '=')
	if i < 1 || i == len(text)-1 {
		return Given{}, study.NewError("map.form", nil)
	}
	return Given{strings.TrimSpace(text[:i]), strings.TrimSpace(text[i+1:])}, nil
}

// none says of a column that it is left out.
const none = "none"

// Column is what is taken of a column of a sheet.
type Column struct {
	Name     string
	Field    *Field          // nil where it is no field
	Variable *study.Variable // nil where it is none of the study's own
	Out      bool            // a person wants it left out; else one that is neither is not known
}

// Mapping is what is taken of each column of a sheet.
type Mapping struct {
	*Sheet
	Table   string // what the table is of: "hips", "events", "films"
	Columns []Column
	Lacking []Field // that no column holds
}

// Map maps the columns of a sheet to fields, and to variables that the study has, by their
// names: upper and lower case, spaces and a unit in brackets do not matter. What is given
// goes before. Rows tell variables of what is listed in of.
func Map(s *Sheet, fields []Field, variables []study.Variable, given []Given, of ...study.VariableOf) (Mapping, error) {
	m := Mapping{Sheet: s}
	var taken []string
	for _, name := range s.Columns {
		c, err := column(name, fields, variables, given, of)
		if err != nil {
			return m, study.NewError("sheet.fault", study.Values{"File": s.File, "Why": study.NoteOf(err)})
		}
		if c.Field != nil {
			if slices.Contains(taken, c.Field.Name) {
				return m, study.NewError("map.twice", study.Values{"File": s.File, "Field": c.Field.Name})
			}
			taken = append(taken, c.Field.Name)
		}
		m.Columns = append(m.Columns, c)
	}
	for _, g := range given {
		if !slices.ContainsFunc(s.Columns, func(name string) bool { return strings.EqualFold(name, g.Column) }) {
			return m, study.NewError("map.no-column", study.Values{"Column": g.Column, "File": s.File, "There": strings.Join(s.Columns, ", ")})
		}
	}
	for _, f := range fields {
		if !slices.Contains(taken, f.Name) {
			m.Lacking = append(m.Lacking, f)
		}
	}
	return m, nil
}

// Lacks reports whether no column holds a field.
func (m Mapping) Lacks(field string) bool {
	return slices.ContainsFunc(m.Lacking, func(f Field) bool { return f.Name == field })
}

func column(name string, fields []Field, variables []study.Variable, given []Given, of []study.VariableOf) (Column, error) {
	c := Column{Name: name}
	for _, g := range given {
		if strings.EqualFold(g.Column, name) {
			return c.said(g.To, fields, of)
		}
	}
	plain, unit := normal(name)
	for _, f := range fields {
		if plain != f.Name && !slices.Contains(f.also, plain) {
			continue
		}
		if unit != "" && !strings.EqualFold(unit, f.Unit) {
			return c, study.NewError("map.unit", study.Values{"Column": name, "Unit": unit, "Field": f.Name, "Want": f.Unit})
		}
		c.Field = &f
		return c, nil
	}
	for _, v := range variables {
		if slices.Contains(of, v.Of) && (strings.EqualFold(v.Name, name) || strings.EqualFold(v.Name, plain)) {
			c.Variable = &v
			return c, nil
		}
	}
	return c, nil
}

// said is a column of which a person says what it is.
func (c Column) said(to string, fields []Field, owners []study.VariableOf) (Column, error) {
	if to == none {
		c.Out = true
		return c, nil
	}
	for _, f := range fields {
		if f.Name == to {
			c.Field = &f
			return c, nil
		}
	}
	of, rest, ok := strings.Cut(to, ":")
	if !ok || !slices.Contains(owners, study.VariableOf(of)) {
		return c, study.NewError("map.no-field", study.Values{"Field": to, "Fields": fieldNames(fields)})
	}
	kind, more, _ := strings.Cut(rest, ":")
	name, _ := normal(c.Name)
	v := study.Variable{Of: study.VariableOf(of), Name: name, Type: study.VariableType(kind), Label: c.Name}
	if v.Type == study.Chosen {
		if more != "" {
			v.Choices = strings.Split(more, "|")
		}
	} else {
		v.Unit = more
	}
	c.Variable = &v
	return c, v.Validate()
}

func fieldNames(fields []Field) string {
	var names []string
	for _, f := range fields {
		names = append(names, f.Name)
	}
	return strings.Join(names, ", ")
}

// normal returns a column's name as fields are called, and the unit that it states in
// brackets.
func normal(name string) (plain, unit string) {
	name = strings.TrimSpace(name)
	if i := strings.IndexAny(name, "(["); i > 0 && strings.HasSuffix(name, map[byte]string{'(': ")", '[': "]"}[name[i]]) {
		name, unit = name[:i], strings.TrimSpace(name[i+1:len(name)-1])
	}
	return strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return r == ' ' || r == '_' || r == '-' }), "_"), unit
}
