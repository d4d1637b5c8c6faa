package account

import (
	"regexp"
	"strings"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// A number's name in the tables is a code, in English; a report says it by the text that has
// the name as its key. What varies in a name, as a year or a group, is a value of the text.
var varying = []struct {
	name *regexp.Regexp
	key  string
	of   []string // names of what varies, in order
}{
	{regexp.MustCompile(`^at risk at year (\S+)$`), "named.at-risk", []string{"Year"}},
	{regexp.MustCompile(`^not revised by year (\S+)$`), "named.not-revised-by", []string{"Year"}},
	{regexp.MustCompile(`^revised by year (\S+)$`), "named.revised-by", []string{"Year"}},
	{regexp.MustCompile(`^death first by year (\S+)$`), "named.death-first-by", []string{"Year"}},
	{regexp.MustCompile(`^intercept of (.+)$`), "named.intercept-of", []string{"Group"}},
	{regexp.MustCompile(`^rate of (.+)$`), "named.rate-of", []string{"Group"}},
	{regexp.MustCompile(`^intercept, (.+) less (.+)$`), "named.intercept-less", []string{"One", "Other"}},
	{regexp.MustCompile(`^rate, (.+) less (.+)$`), "named.rate-less", []string{"One", "Other"}},
	{regexp.MustCompile(`^share of pairs in which (.+) is higher$`), "named.pairs-higher", []string{"Group"}},
	{regexp.MustCompile(`^hazard ratio, (.+) against (.+)$`), "named.hazard-ratio", []string{"One", "Other"}},
	{regexp.MustCompile(`^its logarithm, (.+) against (.+)$`), "named.its-logarithm", []string{"One", "Other"}},
	{regexp.MustCompile(`^hazard ratio the same at all times, (.+)$`), "named.hazard-same", []string{"Of"}},
}

var between = regexp.MustCompile(`[^A-Za-z]+`)

// name says what a number is; a name without a text, as ICC(2,1), as it stands.
func (w *writer) name(q study.Quantity) string {
	key, v := "named."+strings.ToLower(strings.Trim(between.ReplaceAllString(q.Name, "-"), "-")), texts.Values{}
	for _, n := range varying {
		if m := n.name.FindStringSubmatch(q.Name); m != nil {
			key = n.key
			for i, what := range n.of {
				v[what] = m[i+1]
			}
		}
	}
	if words := w.voice.Say(key, v); words != key {
		return words
	}
	return q.Name
}

// whose says of what a number is: a hip, a group, or two readers.
func (w *writer) whose(q study.Quantity) string {
	if one, other, two := strings.Cut(q.Of, " less "); two && (q.Model == "Bland-Altman" || q.Model == "Lin") {
		return w.say("figure.pair", "One", one, "Other", other)
	}
	if q.Of == "" {
		return ""
	}
	return w.groupWords(q.Of)
}

// unit says a unit; one that is a symbol as it stands.
func (w *writer) unit(q study.Quantity) string {
	switch q.Unit {
	case "mm/year":
		return w.say("unit.mm-year")
	case "years":
		return w.say("unit.years")
	}
	return q.Unit
}
