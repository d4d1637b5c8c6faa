package cli

import (
	"strings"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// modelCodes are what --model takes: the models that can be asked for alone, and all.
func modelCodes() []string {
	var out []string
	for _, k := range study.ModelKinds() {
		if !k.Robust {
			out = append(out, k.Code)
		}
	}
	return append(out, study.FitAll)
}

// The columns of the help between which a flag is told.
const (
	helpFrom = 20
	helpTo   = helpWidth
)

// modelHelp tells what --model takes, in the lines of the help.
func modelHelp() string {
	var said []string
	for i, k := range study.ModelKinds() {
		switch {
		case k.Robust:
		case i == 0:
			said = append(said, texts.Say("help.model-default", texts.Values{"Code": k.Code, "Help": k.Help()}))
		default:
			said = append(said, k.Code+": "+k.Help())
		}
	}
	said = append(said, study.FitAll+": "+texts.Say("help.all-models", nil))
	return inColumn(strings.Join(said, "; "))
}

// inColumn breaks text into lines of the help.
func inColumn(text string) string {
	var b strings.Builder
	at := helpFrom
	for i, word := range strings.Fields(text) {
		switch {
		case i == 0:
		case at+1+width(word) > helpTo:
			b.WriteString("\n" + strings.Repeat(" ", helpFrom))
			at = helpFrom
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(word)
		at += width(word)
	}
	return b.String()
}
