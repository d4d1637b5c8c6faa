package texts

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"text/template"
)

// markKey is the decimal mark of a language.
const markKey = "number.mark"

// printed are the topics of what is printed for people: the parts of keys before their
// first dot. Every language has all texts of them. What a sentence of them quotes of others,
// as a fault of a file, is said in English where the language lacks it.
var printed = []string{
	"language", "number", "month", "patient", "paper", "reader",
	"account", "described", "figure", "findings", "flow", "group", "grras", "guide", "hand", "methods", "named", "printing", "sex", "sheet", "strobe", "unit",
	"answer", "attention", "baseline", "beam", "change", "detail", "event", "exclusion", "film", "fixation", "grade", "line", "list", "material", "model",
	"no-rate", "polyethylene", "quantity", "rate", "refusal", "rim", "rule", "settling", "stabiliser", "standing", "start", "trend", "volume", "warning",
}

// Printed reports whether a key is of what is printed.
func Printed(key string) bool {
	topic, _, _ := strings.Cut(key, ".")
	return slices.Contains(printed, topic)
}

// offered are the languages that the program speaks: those that have more than what is printed,
// which are to have all.
func offered(all map[string]Language) map[string]Language {
	out := map[string]Language{}
	for code, l := range all {
		if code == English || speaks(l) {
			out[code] = l
		}
	}
	return out
}

// speaks reports whether a language has a text that is not printed, and so is to have all.
func speaks(l Language) bool {
	for key := range l {
		if !Printed(key) {
			return true
		}
	}
	return false
}

// Speech says sentences in a language of its own, whatever the program speaks; the zero value
// in that of the program.
type Speech struct{ tongue *tongue }

// In returns the speech of a language, as "de" or "de_AT.UTF-8"; ok is false where there is
// none of it.
func In(code string) (s Speech, ok bool) {
	base, all := baseOf(code), languages()
	l, ok := all[base]
	if !ok {
		return s, false
	}
	list := []Language{l}
	if base != English {
		list = append(list, all[English])
	}
	return Speech{&tongue{code: base, list: list}}, true
}

// Code returns the language's code.
func (s Speech) Code() string { return s.speaks().code }

func (s Speech) speaks() *tongue {
	if s.tongue == nil {
		return speaking()
	}
	return s.tongue
}

// Say returns the sentence of a key with its values, as Say of the package does.
func (s Speech) Say(key string, v Values) string {
	text, err := s.speaks().try(key, v)
	if err != nil {
		return key
	}
	return text
}

// Codes returns the languages that there are for print, English first.
func Codes() []string { return codes(languages()) }

// Offered returns the languages that the program speaks, English first.
func Offered() []string { return codes(offered(languages())) }

// Offers returns the code of the language that the program speaks for a locale, as "de" for
// "de_AT.UTF-8"; ok is false where it speaks none of it.
func Offers(locale string) (code string, ok bool) {
	code = baseOf(locale)
	return code, slices.Contains(Offered(), code)
}

func codes(all map[string]Language) []string {
	codes := slices.Sorted(maps.Keys(all))
	at := slices.Index(codes, English)
	return slices.Insert(slices.Delete(codes, at, at+1), 0, English)
}

// Number returns a number, written with a point, with the decimal mark of the language that the
// program speaks.
func Number(text string) string { return strings.Replace(text, ".", Say(markKey, nil), 1) }

var point = regexp.MustCompile(`(\d)\.(\d)`)

// marked is printf with a decimal mark; that of a number in a string stays.
func marked(mark string) template.FuncMap {
	if mark == "" || mark == "." {
		return nil
	}
	return template.FuncMap{"printf": func(format string, args ...any) string {
		text := fmt.Sprintf(format, args...)
		if len(args) == 1 {
			if _, number := args[0].(float64); number {
				return point.ReplaceAllString(text, "${1}"+mark+"${2}")
			}
		}
		return text
	}}
}
