package cli

import (
	"strings"
	"unicode/utf8"
)

// helpWidth is the least width of a terminal, columns.
const helpWidth = 80

// narrow fits text to the width of a terminal. What fits stays as it is written; a
// paragraph, or what is told of a flag, that has a line too long is set anew, below its
// own first word.
func narrow(text string) string {
	var out []string
	lines := strings.Split(text, "\n")
	for i := 0; i < len(lines); {
		from, hang := hangOf(lines[i:])
		n := 1
		long := width(lines[i]) > helpWidth
		for i+n < len(lines) && goesOn(lines[i], lines[i+n], hang) {
			long = long || width(lines[i+n]) > helpWidth
			n++
		}
		if long {
			out = append(out, set(lines[i:i+n], from, hang)...)
		} else {
			out = append(out, lines[i:i+n]...)
		}
		i += n
	}
	return strings.Join(out, "\n")
}

func width(s string) int { return utf8.RuneCountInString(s) }

func indent(s string) int { return len(s) - len(strings.TrimLeft(s, " ")) }

// deep is an indent that only what is told of a flag has.
const deep = 8

// hangOf is the column at which the first of lines begins to tell something, and that
// below which it goes on: those of what is told of a flag, else of its first word.
func hangOf(lines []string) (from, hang int) {
	line, lead := lines[0], indent(lines[0])
	if !isFlag(line) {
		return lead, lead
	}
	next := 0
	if len(lines) > 1 && indent(lines[1]) > lead && !isFlag(lines[1]) {
		next = indent(lines[1])
	}
	if i := strings.Index(line[lead:], "  "); i > 0 {
		from = lead + i + indent(line[lead+i:])
		if next > 0 {
			return from, next
		}
		return from, from
	}
	if next > 0 && next < len(line) && line[next-1] == ' ' {
		return next, next
	}
	return lead, lead // all of it is flags
}

func isFlag(line string) bool { return strings.HasPrefix(strings.TrimLeft(line, " "), "--") }

// goesOn says whether the next line is of the same paragraph or flag as the first.
func goesOn(first, next string, hang int) bool {
	if strings.TrimSpace(next) == "" || strings.TrimSpace(first) == "" || indent(next) != hang {
		return false
	}
	if isFlag(first) {
		return hang > indent(first)
	}
	return hang == 0 || hang >= deep
}

// set breaks lines anew, below hang; what stands in brackets is not parted. The first
// keeps what it has before from.
func set(lines []string, from, hang int) []string {
	first := lines[0][:from]
	rest := strings.Join(lines, " ")[len(first):]
	var out []string
	line, some := first, false
	for _, word := range together(strings.Fields(rest)) {
		if some && width(line)+1+width(word) > helpWidth {
			out = append(out, line)
			line, some = strings.Repeat(" ", hang), false
		}
		if some {
			line += " "
		}
		line, some = line+word, true
	}
	return append(out, line)
}

// together joins the words between brackets.
func together(words []string) []string {
	var out []string
	open := 0
	for _, w := range words {
		if open > 0 {
			out[len(out)-1] += " " + w
		} else {
			out = append(out, w)
		}
		open += strings.Count(w, "[") - strings.Count(w, "]")
	}
	return out
}
