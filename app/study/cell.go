package study

import (
	"regexp"
	"strings"
)

// A spreadsheet runs a cell that begins with = + - @, a tab or a line's end as a formula,
// whoever wrote it (OWASP, "CSV Injection"). In tables that the program writes an
// apostrophe stands before such a text, and before one that would be read as such with an
// apostrophe taken off, so that UnguardCell gives back every text as it was. Numbers with a
// sign stay numbers.

// GuardCell returns a cell as a table holds it that does not tell texts from numbers.
func GuardCell(s string) string {
	if runs(s) && !signed.MatchString(s) {
		return "'" + s
	}
	return s
}

// GuardText returns a text as a table holds it in which NotAvailable stands for what is
// not known: a text that is that word has an apostrophe, too.
func GuardText(s string) string {
	if runs(s) || s == NotAvailable {
		return "'" + s
	}
	return s
}

// UnguardCell returns the text that GuardCell or GuardText was given.
func UnguardCell(s string) string {
	if strings.HasPrefix(s, "'") && runs(s) {
		return s[1:]
	}
	return s
}

// signed is a number with a sign.
var signed = regexp.MustCompile(`^[+-](\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$`)

// runs reports whether a cell is a formula or looks like a guarded one.
func runs(s string) bool {
	bare := strings.TrimLeft(s, "'")
	return bare != "" && strings.ContainsRune("=+-@\t\r\n", rune(bare[0])) || bare == NotAvailable && bare != s
}
