package cli

import (
	"strings"

	"linerwatch/assets/texts"
)

// languageFlag chooses the language, before the command and its own flags.
const languageFlag = "--language"

// speak has the program speak the language of --language, else the one that the user has chosen,
// else that of the environment or the system. It returns what args hold beside it.
func speak(args []string, env Env) ([]string, error) {
	texts.Use(append([]string{env.Language}, wanted(env)...)...)
	if len(args) == 0 {
		return args, nil
	}
	name, locale, is := strings.Cut(args[0], "=")
	switch {
	case name != languageFlag:
		return args, nil
	case is:
		args = args[1:]
	case len(args) == 1:
		args = nil
	default:
		locale, args = args[1], args[2:]
	}
	code, ok := texts.Offers(locale)
	if !ok {
		return nil, &usageError{texts.Say("language.none", texts.Values{"Code": locale, "Codes": strings.Join(texts.Offered(), ", ")}), ""}
	}
	texts.Use(code)
	return args, nil
}

// wanted returns the languages that environment and system want, the first choice first. That
// of messages is named by the first of LC_ALL, LC_MESSAGES and LANG that is set (POSIX.1-2024,
// Base Definitions 8.2), and before it by LANGUAGE, a list with colons, unless it is C or POSIX
// (GNU gettext manual, 2.3).
func wanted(env Env) []string {
	if env.Getenv != nil {
		for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
			locale := env.Getenv(name)
			switch {
			case locale == "":
				continue
			case locale == "C" || locale == "POSIX" || strings.HasPrefix(locale, "C."):
				return nil
			}
			return append(strings.Split(env.Getenv("LANGUAGE"), ":"), locale)
		}
	}
	if env.SystemLanguage != nil {
		return []string{env.SystemLanguage()}
	}
	return nil
}
