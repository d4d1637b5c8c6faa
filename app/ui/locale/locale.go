// Package locale gives the toolkit a locale that it can read. Where the
// environment names the C locale, the toolkit's translations complain about it on
// standard error while they are being initialised.
//
// It works by order: packages are initialised by import path as their imports
// become ready, and this one, which imports only os, is ready before
// text/template, which the translations need.
package locale

import (
	"os"
	"runtime"
	"strings"
)

func init() {
	if runtime.GOOS == "windows" || runtime.GOOS == "darwin" {
		return // where the system is asked, and no environment
	}
	if name, value, ok := replacement(os.Getenv); ok {
		// A failure leaves the complaint, no more. LANGUAGE says nothing in the C locale (GNU
		// gettext manual, "The LANGUAGE variable"), and would in another.
		_ = os.Setenv(name, value)
		_ = os.Unsetenv("LANGUAGE")
	}
}

// plain is a locale that says nothing of a country's habits but can be parsed.
const plain = "en_US.UTF-8"

// replacement returns the variable to set, if the one that decides names the C
// locale or none does.
func replacement(get func(string) string) (name, value string, ok bool) {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		switch v := get(name); {
		case v == "":
			continue
		case v == "C" || v == "POSIX" || strings.HasPrefix(v, "C."):
			return name, plain, true
		default:
			return "", "", false
		}
	}
	return "LANG", plain, true
}
