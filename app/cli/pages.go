package cli

import (
	"strings"
	"text/template"

	"linerwatch/app/report/figure"
	"linerwatch/app/study"
	"linerwatch/assets"
	"linerwatch/assets/texts"
)

// say returns the words of a key; values come as name and value.
func say(key string, values ...any) string { return study.Sentence(key, values...) }

// either returns words as a choice, as "a, b or c".
func either(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return say("cli.or", "Names", strings.Join(words[:last], ", "), "Last", words[last])
}

// page returns a page of the help in the language that the program speaks, in English where
// that has none of this name, and "" where English has none.
func page(name string) string {
	for _, language := range []string{texts.Spoken(), texts.English} {
		if text, err := assets.Help.ReadFile("help/" + language + "/" + name + ".txt"); err == nil {
			return filled(name, string(text))
		}
	}
	return ""
}

// filled returns a page with what is told on others, or by code, at its place.
func filled(name, text string) string {
	says := template.FuncMap{
		"page":    page,
		"models":  modelHelp,
		"figures": func() string { return strings.Join(figure.Names(), ", ") },
	}
	var b strings.Builder
	if err := template.Must(template.New(name).Funcs(says).Parse(text)).Execute(&b, nil); err != nil {
		panic(err) // the pages are built into the program, and tested
	}
	return strings.Trim(b.String(), "\n")
}

// studyPages are the parts of the page of the command study, but for what is told of all its
// verbs.
var studyPages = []string{"study", "study-export", "study-keep", "study-copy", "study-import", "study-measure", "study-assign"}

// ofAllVerbs is the page of what is told of all verbs.
const ofAllVerbs = "study-earlier"

// pageOf returns the page of a command.
func pageOf(command string) string {
	if command != studyCommand.name {
		return page(command)
	}
	var parts []string
	for _, name := range append(studyPages[:len(studyPages):len(studyPages)], ofAllVerbs) {
		parts = append(parts, page(name))
	}
	return strings.Join(parts, "\n\n")
}

// verbPage returns what the page of study says of one of its verbs, and of all; ok is false
// where there is no such verb.
func verbPage(verb string) (said string, ok bool) {
	if _, ok := studyVerbs()[verb]; !ok {
		return "", false
	}
	for _, name := range studyPages {
		in := false
		for line := range strings.SplitSeq(page(name), "\n") {
			if rest, is := strings.CutPrefix(line, "study "); is {
				of, _, _ := strings.Cut(rest, " ")
				in = of == verb
			}
			if in {
				said += line + "\n"
			}
		}
	}
	return strings.TrimSpace(said) + "\n\n" + page(ofAllVerbs), true
}
