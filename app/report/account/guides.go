package account

import "fmt"

// The guidelines, of which items are told in words of our own.
const (
	strobeSource = "von Elm E, Altman DG, Egger M, Pocock SJ, Gøtzsche PC, Vandenbroucke JP. The Strengthening the Reporting of Observational Studies in Epidemiology (STROBE) statement. Lancet 2007;370:1453–1457."
	grrasSource  = "Kottner J, Audigé L, Brorson S, et al. Guidelines for Reporting Reliability and Agreement Studies (GRRAS) were proposed. J Clin Epidemiol 2011;64:96–106."
)

// item is one of a guideline. in is the key of the part of this report that holds it, empty
// where it is the author's to write; some says that it holds a part of it alone.
type item struct {
	words string // key
	in    string
	some  bool
}

var strobe = []item{
	{"strobe.title", "", false}, {"strobe.background", "", false}, {"strobe.objectives", "", false}, {"strobe.design", "", false},
	{"strobe.setting", "account.described", true}, {"strobe.participants", "", false}, {"strobe.variables", "account.methods", true},
	{"strobe.measurement", "account.methods", false}, {"strobe.bias", "account.reading", true}, {"strobe.size", "", false}, {"strobe.quantitative", "account.methods", true},
	{"strobe.statistics", "account.methods", false}, {"strobe.flow", "account.flow", false}, {"strobe.descriptive", "account.described", false},
	{"strobe.outcome", "account.visits", false}, {"strobe.main", "account.rates", false}, {"strobe.other", "account.checks", true},
	{"strobe.key", "", false}, {"strobe.limitations", "", false}, {"strobe.interpretation", "", false}, {"strobe.general", "", false}, {"strobe.funding", "", false},
}

var grras = []item{
	{"grras.title", "", false}, {"grras.device", "account.methods", false}, {"grras.subjects", "account.described", true}, {"grras.raters", "", false},
	{"grras.known", "", false}, {"grras.size", "account.readers", true}, {"grras.sampling", "", false}, {"grras.process", "account.reading", true},
	{"grras.independent", "account.reading", true}, {"grras.statistics", "account.methods", false}, {"grras.numbers", "account.readers", false},
	{"grras.sample", "account.described", true}, {"grras.estimates", "account.readers", false}, {"grras.relevance", "", false}, {"grras.details", "account.readers", true},
}

// guides shows which items this report fills.
func (w *writer) guides() {
	w.title("account.guides")
	w.text("account.guides.text")
	missing := map[string]string{}
	for _, part := range []struct {
		key  string
		none bool
		why  string
	}{
		{"account.reading", len(w.Reading.Lists) == 0, w.say("guide.author")},
		{"account.readers", !w.Readers.Why.IsZero(), w.say("guide.nothing")}, {"account.visits", len(w.Visits) == 0, w.say("guide.none")},
		{"account.rates", !w.Cohort.WhyMixed.IsZero(), w.say("guide.none")}, {"account.checks", len(w.Cohort.Checks.Films) == 0, w.say("guide.none")},
	} {
		if part.none {
			missing[part.key] = part.why
		}
	}
	w.guide("account.strobe", strobe, missing)
	w.guide("account.grras", grras, missing)
}

// guide shows one. missing are parts that hold nothing in this study.
func (w *writer) guide(key string, items []item, missing map[string]string) {
	var rows [][]string
	for i, it := range items {
		where := w.say("guide.author")
		switch {
		case it.in == "":
		case missing[it.in] != "":
			where = missing[it.in]
		case it.some:
			where = w.say("guide.part", "Part", w.say(it.in))
		default:
			where = w.say("guide.filled", "Part", w.say(it.in))
		}
		rows = append(rows, []string{fmt.Sprint(i + 1), w.say(it.words), where})
	}
	w.table(key, []column{{w.say("guide.item"), 0.5, true}, {w.say("guide.about"), 3.4, false}, {w.say("guide.where"), 3, false}}, rows)
}
