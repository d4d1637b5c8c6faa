package study

import (
	"fmt"
	"path/filepath"
	"strings"
)

// FileExt is the extension of study files.
const FileExt = ".linerwatch"

// IsFile reports whether a path is named as a study file is.
func IsFile(path string) bool { return strings.EqualFold(filepath.Ext(path), FileExt) }

// Plain returns an error's text without the package prefixes that mean nothing to
// a reader of films; "" for nil.
func Plain(err error) string {
	if err == nil {
		return ""
	}
	text := err.Error()
	for _, p := range []string{"measure: ", "study: ", "dicomio: ", "store: ", "batch: ", "session: ", "wearfit: ", "refused: "} {
		text = strings.ReplaceAll(text, p, "")
	}
	return text
}

// Count writes "1 film" or "3 films".
func Count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
