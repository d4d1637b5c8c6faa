package cli

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

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
		fmt.Fprintf(&b, "%s\n\n", broken(texts.Say("help.program", nil), 0))
		fmt.Fprintf(&b, "  linerwatch                  %s\n", texts.Say("help.window", nil))
		fmt.Fprintf(&b, "  linerwatch FILE-OR-FOLDER   %s\n", texts.Say("help.films", nil))
		fmt.Fprintf(&b, "  linerwatch --read-only STUDY\n%*s%s\n\n", listHang, "", broken(texts.Say("help.read-only", nil), listHang))
		for _, c := range commands() {
			fmt.Fprintf(&b, "  linerwatch %-15s  %s\n", c.name, broken(c.says(), listHang))
		}
		flag := texts.Say("language.flag", texts.Values{"Codes": strings.Join(texts.Offered(), ", ")})
		fmt.Fprintf(&b, "  linerwatch %s CODE  %s\n", languageFlag, broken(flag, listHang))
		fmt.Fprintf(&b, "  linerwatch version\n")
		fmt.Fprintf(&b, "  linerwatch help COMMAND\n")
		fmt.Fprintf(&b, "  linerwatch help %-10s  %s\n", assuranceTopic, broken(texts.Say("help.assurance", nil), listHang))
		fmt.Fprintf(&b, "  linerwatch help %-10s  %s\n", licencesTopic, broken(texts.Say("help.licences", nil), listHang))
	case args[0] == assuranceTopic:
		b.WriteString(page(assuranceTopic) + "\n")
	case args[0] == licencesTopic: // as they are written
		_, err := fmt.Fprint(env.Stdout, assets.Notices)
		return err
	default:
		c, ok := find(args[0])
		if !ok {
			return &usageError{texts.Say("help.no-command", texts.Values{"Command": args[0]}), commandsAre()}
		}
		if c.name == "study" && len(args) > 1 {
			text, ok := verbPage(args[1])
			if !ok {
				return &usageError{texts.Say("help.no-verb", texts.Values{"Verb": args[1]}), texts.Say("cli.one-of", texts.Values{"Names": verbNames()})}
			}
			fmt.Fprintf(&b, "linerwatch %s\n", text)
			break
		}
		fmt.Fprintf(&b, "linerwatch %s %s\n\n%s\n\n%s\n", c.name, c.usage, sentence(c.says()), pageOf(c.name))
	}
	fmt.Fprintf(&b, "\n%s\n", report.Caution())
	_, err := fmt.Fprint(env.Stdout, narrow(b.String()))
	return err
}

// listHang is the column below which the list of commands says what each does.
const listHang = 30

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

// says returns the line of a command.
func (c command) says() string { return texts.Say(c.about, nil) }

// sentence writes s with a capital letter and a full stop.
func sentence(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:] + "."
}
