package study

import "strings"

// FileExt is the extension of study files.
const FileExt = ".linerwatch"

// Plain returns an error's text without the package prefixes that mean nothing to
// a reader of films; "" for nil.
func Plain(err error) string {
	if err == nil {
		return ""
	}
	text := err.Error()
	for _, p := range []string{"measure: ", "study: ", "dicomio: ", "store: ", "batch: ", "session: ", "refused: "} {
		text = strings.ReplaceAll(text, p, "")
	}
	return text
}
