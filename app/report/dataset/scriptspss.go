package dataset

import (
	"fmt"
	"strings"
)

// spssReserved are words that are no names of variables (IBM SPSS Statistics, Command Syntax
// Reference, "Variable Names").
const spssReserved = "all and by eq ge gt le lt ne not or to with"

// writeSPSS writes syntax for SPSS, which PSPP takes as well.
func writeSPSS(tables []loaded) []byte {
	p := new(page)
	p.line("* Encoding: UTF-8.")
	p.line("* %s", intro)
	p.line("* Make this folder the working directory first: CD 'FOLDER'.")
	p.line("* Each table is then a dataset of its own name: DATASET ACTIVATE hips.")
	p.line("* NA in a column of numbers becomes system-missing, of which there is no warning.")
	p.line("PRESERVE.\nSET DECIMAL=DOT.\nSET UNDEFINED=NOWARN.\nSET MXWARNS=0.")
	for _, t := range tables {
		p.spss(t)
	}
	p.line("RESTORE.")
	return p.Bytes()
}

func (p *page) spss(t loaded) {
	of := names(t.fields, 60, spssReserved)
	p.line("\nGET DATA /TYPE=TXT /FILE=%s /ENCODING='UTF8' /ARRANGEMENT=DELIMITED /DELCASE=LINE /FIRSTCASE=2\n  /DELIMITERS=',' /QUALIFIER='\"' /VARIABLES=", spssText(fileOf(t.name)))
	for i, f := range t.fields {
		end := ""
		if i == len(t.fields)-1 {
			end = "."
		}
		p.line("  %s %s%s", spssRead(of[i], f), spssFormat(f, t.widths[i]), end)
	}
	var texts []string
	for i, f := range t.fields {
		switch f.kind.of {
		case "datetime":
			p.spssMoment(of[i])
		case "number":
			p.line("FORMATS %s (F14.6).", of[i])
		case "string":
			texts = append(texts, of[i])
		}
		p.spssLabels(of[i], f)
	}
	if texts != nil {
		p.line("DO REPEAT v=%s.", strings.Join(texts, "\n  "))
		p.line("IF (SUBSTR(v,1,1)=\"'\" AND ANY(SUBSTR(LTRIM(v,\"'\"),1,1),'=','+','-','@')) v=SUBSTR(v,2).")
		p.line("END REPEAT.\nMISSING VALUES %s ('NA').", strings.Join(texts, "\n  "))
	}
	p.line("EXECUTE.\nDATASET COPY %s.", t.name) // SPSS keeps a named dataset when the next is read, PSPP does not
}

// spssRead is the variable that a column is read into: a moment is made of a text.
func spssRead(name string, f field) string {
	if f.kind.of == "datetime" {
		return name + "_t"
	}
	return name
}

// spssFormat is how a column is read. Numbers have no implied decimals.
func spssFormat(f field, width int) string {
	switch f.kind.of {
	case "boolean":
		return "F1.0"
	case "integer":
		return "F12.0"
	case "number":
		return "F32.0"
	case "date":
		return "SDATE10"
	case "datetime":
		return "A20"
	}
	return fmt.Sprint("A", min(max(width, 2), 32767))
}

// spssMoment makes a moment of its text.
func (p *page) spssMoment(name string) {
	part := func(from, n int) string { return fmt.Sprintf("NUMBER(SUBSTR(%s_t,%d,%d),F%d)", name, from, n, n) }
	p.line("IF (%s_t<>'NA') %s=DATE.DMY(%s,%s,%s)+TIME.HMS(%s,%s,%s).\nFORMATS %s (DATETIME20).",
		name, name, part(9, 2), part(6, 2), part(1, 4), part(12, 2), part(15, 2), part(18, 2), name)
	p.line("EXECUTE.\nDELETE VARIABLES %s_t.", name)
}

func (p *page) spssLabels(name string, f field) {
	label := f.label
	if f.unit != "" {
		label += " (" + f.unit + ")"
	}
	p.line("VARIABLE LABELS %s %s.", name, spssText(label))
	choices := told(f.choices)
	if f.kind.of == "boolean" {
		p.line("VALUE LABELS %s 0 'no' 1 'yes'.", name)
	}
	if choices == nil {
		return
	}
	p.line("VALUE LABELS %s", name)
	for i, c := range choices {
		end := ""
		if i == len(choices)-1 {
			end = "."
		}
		p.line("  %s %s%s", spssText(c.Code), spssText(cut(c.Words, 120)), end)
	}
}

// spssText is a text of SPSS.
func spssText(s string) string { return "'" + strings.ReplaceAll(oneLine(s), "'", "''") + "'" }

// cut is a text of at most so many bytes.
func cut(s string, most int) string {
	for len(s) > most {
		r := []rune(s)
		s = string(r[:len(r)-1])
	}
	return s
}
