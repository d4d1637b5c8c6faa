package cli

import (
	"fmt"
	"strings"

	"linerwatch/app/report"
	"linerwatch/assets"
	"linerwatch/assets/texts"
)

// Topics of the help that are no commands.
const (
	assuranceTopic = "assurance"
	licencesTopic  = "licences"
)

// help prints what the program or one command does.
func help(env Env, args []string) error {
	var b strings.Builder
	switch {
	case len(args) == 0:
		fmt.Fprintf(&b, "linerwatch measures how far the femoral head has moved into its liner on serial hip films.\n\n")
		fmt.Fprintf(&b, "  linerwatch                 open the window\n")
		fmt.Fprintf(&b, "  linerwatch FILE-OR-FOLDER  open films in the window\n")
		fmt.Fprintf(&b, "  linerwatch --read-only STUDY  %s\n\n", texts.Say("help.read-only", nil))
		for _, c := range commands() {
			fmt.Fprintf(&b, "  linerwatch %-14s  %s\n", c.name, broken(c.about, listHang))
		}
		flag := texts.Say("language.flag", texts.Values{"Codes": strings.Join(texts.Offered(), ", ")})
		fmt.Fprintf(&b, "  linerwatch %s CODE  %s\n", languageFlag, broken(flag, listHang))
		fmt.Fprintf(&b, "  linerwatch version\n")
		fmt.Fprintf(&b, "  linerwatch help COMMAND\n")
		fmt.Fprintf(&b, "  linerwatch help %-9s  %s\n", assuranceTopic, "what is done for a study that will be examined")
		fmt.Fprintf(&b, "  linerwatch help %-9s  %s\n", licencesTopic, broken(texts.Say("help.licences", nil), listHang))
	case args[0] == assuranceTopic:
		b.WriteString(strings.TrimSpace(assets.Assurance) + "\n")
	case args[0] == licencesTopic: // as they are written
		_, err := fmt.Fprint(env.Stdout, assets.Notices)
		return err
	default:
		c, ok := find(args[0])
		if !ok {
			return &usageError{fmt.Sprintf("help: no command %q", args[0]), "commands are " + commandNames()}
		}
		if c.name == "study" && len(args) > 1 {
			text, ok := verbHelp(c.help, args[1])
			if !ok {
				return &usageError{fmt.Sprintf("help: study has no %q", args[1]), "it is one of " + verbNames()}
			}
			fmt.Fprintf(&b, "linerwatch %s\n", text)
			break
		}
		fmt.Fprintf(&b, "linerwatch %s %s\n\n%s\n\n%s\n", c.name, c.usage, sentence(c.about), strings.TrimSpace(c.help))
	}
	fmt.Fprintf(&b, "\n%s\n", report.Caution())
	_, err := fmt.Fprint(env.Stdout, narrow(b.String()))
	return err
}

// verbHelp returns what the help of study says of one of its verbs, and of all.
func verbHelp(text, verb string) (said string, ok bool) {
	if _, ok := studyVerbs()[verb]; !ok {
		return "", false
	}
	in := false
	for line := range strings.SplitSeq(text, "\n") {
		if rest, is := strings.CutPrefix(line, "study "); is {
			of, _, _ := strings.Cut(rest, " ")
			in = of == verb
		}
		if in = in || strings.HasPrefix(line, ofAllVerbs); in {
			said += line + "\n"
		}
	}
	return strings.TrimSpace(said), true
}

// ofAllVerbs begins what the help of study says of all its verbs, at its end.
const ofAllVerbs = "A study of an earlier version of the program"

// listHang is the column below which the list of commands says what each does.
const listHang = 29

// broken breaks text for lines that begin at a column, as long as a terminal is wide.
func broken(text string, at int) string {
	return strings.TrimLeft(strings.Join(set([]string{strings.Repeat(" ", at) + text}, at, at), "\n"), " ")
}

func find(name string) (command, bool) {
	for _, c := range commands() {
		if c.name == name {
			return c, true
		}
	}
	return command{}, false
}

// sentence writes s with a capital letter and a full stop.
func sentence(s string) string { return strings.ToUpper(s[:1]) + s[1:] + "." }
