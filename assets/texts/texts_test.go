package texts

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"
)

func TestSayFillsInValues(t *testing.T) {
	require.Equal(t, "the head's outline fits badly: the offset may be off by 0.3 mm", Say("warning.outline-misfit", Values{"Part": "head", "Off": 0.31}))
}

func TestWhatIsLackingShowsItsKey(t *testing.T) {
	for name, v := range map[string]Values{
		"warning.outline-misfit":        {"Part": "head"},                  // a value is not there
		"warning.cup-turned.version":    {"Degrees": "much"},               // of another kind
		"warning.magnification":         nil,                               // none at all
		"no.such.key":                   {"Part": "head"},                  // no sentence
		"warning.side-contradicts.tag":  {"Tag": "left"},                   // the second one is not there
		"warning.magnification.unheard": {"M": 1., "Least": 1., "Most": 2}, // no such case
	} {
		_, err := Try(name, v)
		require.Error(t, err, name)
		require.Equal(t, name, Say(name, v))
	}
}

// A language is a file beside the others: what DEVELOPERS.md says under "a language".
func TestLanguageRecipe(t *testing.T) {
	en, err := fs.ReadFile(Files, English+".json")
	require.NoError(t, err)
	all, err := Read(fstest.MapFS{
		"en.json": {Data: en},
		"toy.json": {Data: []byte(`{
			"warning.side-contradicts.tag": "{{if eq .Tag \"left\"}}port{{else}}starboard{{end}} it says",
			"warning.cup-turned.version": "{{.Gone}}"}`)},
	})
	require.NoError(t, err)
	t.Cleanup(func() { Use(English) })
	require.Equal(t, "toy", speak(all, "toy-XX"))
	require.Equal(t, "port it says", Say("warning.side-contradicts.tag", Values{"Tag": "left", "Measured": "right"}))
	require.Equal(t, "look at both ends of the ring", Say("todo.ring-partial", nil), "English where the language lacks a text")
	require.Contains(t, Say("warning.cup-turned.version", Values{"Degrees": 4.}), "differs by +4.0 degrees", "and where it wants what is not there")
	for _, code := range []string{"none", "C", "C.UTF-8", "POSIX", ""} {
		require.Equal(t, English, speak(all, code), code)
	}
	require.Equal(t, "the file says left, the hip measured is the right one", Say("warning.side-contradicts.tag", Values{"Tag": "left", "Measured": "right"}))
}

// Every language of the program has all texts, with their values.
func TestLanguagesAreWhole(t *testing.T) {
	require.Empty(t, Check(languages()))
}

func TestCheckNamesWhatIsWrong(t *testing.T) {
	read := func(toy string) map[string]Language {
		all, err := Read(fstest.MapFS{
			"en.json":  {Data: []byte(`{"a.one": "{{if eq .N 1.0}}one {{.Part}}{{else}}{{printf \"%.0f\" .N}}{{end}}", "a.two": "two"}`)},
			"toy.json": {Data: []byte(toy)},
		})
		require.NoError(t, err)
		return all
	}
	for toy, want := range map[string][]string{
		`{"a.one": "{{.Part}} {{.N}}", "a.two": "zwo"}`:                   nil,
		`{"a.one": "{{.Part}} {{.N}}"}`:                                   {"toy.json: a.two is missing"},
		`{"a.one": "{{.Part}} {{.N}}", "a.two": "zwo", "a.tree": "drei"}`: {"toy.json: no such key: a.tree"},
		`{"a.one": "{{.Part}} {{.M}}", "a.two": "zwo"}`:                   {`toy.json: a.one has the values ["M" "Part"], not ["N" "Part"]`},
		`{"a.one": "{{.N}}", "a.two": "zwo"}`:                             {`toy.json: a.one has the values ["N"], not ["N" "Part"]`},
		`{"a.one": "{{.Part}} {{.N}}", "a.two": "zwo {{.N}}"}`:            {`toy.json: a.two has the values ["N"], not []`},
		`{"a.one": "{{.Part}} {{.N}}", "a.two": "{{two}}"}`:               {`toy.json: template: a.two:1: function "two" not defined`},
	} {
		require.Equal(t, want, Check(read(toy)), toy)
	}
	all, err := Read(fstest.MapFS{"en.json": {Data: []byte(`{"a.one": "{{"}`)}})
	require.NoError(t, err)
	require.Equal(t, []string{"en.json: template: a.one:1: unclosed action"}, Check(all), "English is looked at, too")
}

// A language that has what is printed and no more is whole; it is spoken on paper alone, with
// its decimal mark.
func TestLanguageOfPrintAlone(t *testing.T) {
	all, err := Read(fstest.MapFS{
		"en.json": {Data: []byte(`{"a.one": "one", "number.mark": ".", "patient.x": "{{printf \"%.1f\" .N}} mm {{.S}}", "patient.y": "y"}`)},
		"de.json": {Data: []byte(`{"number.mark": ",", "patient.x": "{{printf \"%.1f\" .N}} Millimeter {{.S}}", "patient.y": "{{printf \"%q\" .Gone}}"}`)},
	})
	require.NoError(t, err)
	require.Equal(t, []string{`de.json: patient.y has the values ["Gone"], not []`}, Check(all))
	delete(all["de"], "patient.y")
	require.Equal(t, []string{"de.json: patient.y is missing"}, Check(all), "and a.one is not")
	t.Cleanup(func() { Use(English) })
	require.Equal(t, English, speak(offered(all), "de"))
	text, err := all["de"]["patient.x"].template()
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, text.Execute(&b, Values{"N": 2.5, "S": "1.5"}))
	require.Equal(t, "2,5 Millimeter 1.5", b.String(), "what is said as it came stays")
}

// German and English are there for print, and the program speaks those that are whole.
func TestLanguagesOfPrint(t *testing.T) {
	require.Equal(t, []string{"en", "de"}, Codes())
	de, ok := In("de_AT.UTF-8")
	require.True(t, ok)
	require.Equal(t, "de", de.Code())
	require.Contains(t, de.Say("warning.magnification", Values{"M": 1.234, "Least": 1., "Most": 1.3}), "die sich ergibt, 1,234, liegt außerhalb von 1,00 bis 1,30")
	require.Equal(t, "no.such", de.Say("no.such", nil))
	_, ok = In("fr")
	require.False(t, ok)
	require.Equal(t, []string{"en", "de"}, Offered())
	for locale, want := range map[string]string{"de": "de", "de_AT.UTF-8": "de", "en-GB": "en", "fr": "", "C": "", "": ""} {
		code, ok := Offers(locale)
		require.Equal(t, want != "", ok, locale)
		require.True(t, !ok || code == want, locale)
	}
}

// The first language wanted that the program has is spoken.
func TestUseTakesTheFirstThatThereIs(t *testing.T) {
	t.Cleanup(func() { Use(English) })
	for _, c := range []struct {
		wanted []string
		want   string
	}{
		{[]string{"de_DE.UTF-8"}, "de"},
		{[]string{"fr", "de"}, "de"},
		{[]string{"en", "de"}, "en"},
		{[]string{"fr", "C"}, "en"},
		{nil, "en"},
	} {
		require.Equal(t, c.want, Use(c.wanted...), c.wanted)
		require.Equal(t, c.want, Spoken(), c.wanted)
	}
	Use("de")
	require.Equal(t, "nach dem Modell nicht erreicht", Say("times.not-reached", nil))
	require.Equal(t, "von Jahr 2,5 bis 4", Say("times.between", Values{"From": 2.5, "To": 4.}))
}

// A text that is said in English, as the language lacks it or wants another value, is told once.
func TestFallingBackIsTold(t *testing.T) {
	all, err := Read(fstest.MapFS{
		"en.json":  {Data: []byte(`{"a.one": "one {{.N}}", "a.two": "two", "a.three": "three"}`)},
		"toy.json": {Data: []byte(`{"a.one": "eins {{.M}}", "a.three": "drei"}`)},
	})
	require.NoError(t, err)
	var told []string
	Lacking(func(language, key string) { told = append(told, language+" "+key) })
	t.Cleanup(func() { Lacking(nil); Use(English) })
	speak(all, "toy")
	for range 2 {
		require.Equal(t, "one 1", Say("a.one", Values{"N": 1}))
		require.Equal(t, "two", Say("a.two", nil))
		require.Equal(t, "drei", Say("a.three", nil))
		require.Equal(t, "a.four", Say("a.four", nil), "which English lacks, too")
	}
	require.Equal(t, []string{"toy a.one", "toy a.two"}, told)
	speak(all, English)
	require.Equal(t, "two", Say("a.two", nil))
	require.Len(t, told, 2)
}

func TestLanguageOfALocale(t *testing.T) {
	all := map[string]Language{English: {}, "toy": {}}
	t.Cleanup(func() { Use(English) })
	for _, code := range []string{"toy", "toy-XX", "toy_XX", "toy_XX.UTF-8", "toy.UTF-8", "toy@euro", "TOY"} {
		require.Equal(t, "toy", speak(all, code), code)
	}
}

func TestLanguageThatCannotBeReadFails(t *testing.T) {
	for _, bad := range []string{`{"a": 1}`, `[`} {
		_, err := Read(fstest.MapFS{"en.json": {Data: []byte(bad)}})
		require.Error(t, err, bad)
	}
}

// A sentence that is no template is said in English, and by its key where there is none.
func TestNoTemplateIsNotSaid(t *testing.T) {
	all, err := Read(fstest.MapFS{
		"en.json":  {Data: []byte(`{"a.one": "one", "a.two": "{{"}`)},
		"toy.json": {Data: []byte(`{"a.one": "{{", "a.two": "zwo{{"}`)},
	})
	require.NoError(t, err)
	t.Cleanup(func() { Use(English) })
	speak(all, "toy")
	for range 2 {
		require.Equal(t, "one", Say("a.one", nil))
		require.Equal(t, "a.two", Say("a.two", nil))
	}
}
