package study

import (
	"strings"
	"unicode"
)

// CodeFault says why text cannot be a patient's code, or nothing: a person's name as
// DICOM writes it, or what a table takes for a missing value.
func CodeFault(code string) Note {
	switch {
	case strings.EqualFold(code, NotAvailable):
		return Note{Code: "code.missing-value", Values: Values{"Code": code}}
	case strings.Contains(code, "^"):
		return Note{Code: "code.name", Values: Values{"Code": code}}
	}
	return Note{}
}

// NotAvailable stands in exported tables for a value that is not known, as R and
// pandas read it.
const NotAvailable = "NA"

// LooksLikeName reports whether a code may be somebody's name: two words or more
// that hold letters only, or words joined as DICOM joins the parts of a name. It
// finds what was entered by mistake and proves nothing.
func LooksLikeName(code string) bool {
	if strings.Contains(code, "^") {
		return true
	}
	words := strings.FieldsFunc(code, func(r rune) bool { return unicode.IsSpace(r) || r == ',' || r == '_' })
	for _, w := range words {
		if len([]rune(w)) < 2 || strings.ContainsFunc(w, func(r rune) bool { return !unicode.IsLetter(r) && r != '-' && r != '\'' }) {
			return false
		}
	}
	return len(words) >= 2
}
