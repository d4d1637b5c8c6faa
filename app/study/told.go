package study

import (
	"fmt"
	"net/url"
	"path/filepath"
	"strings"
)

// FileExt is the extension of study files.
const FileExt = ".linerwatch"

// IsFile reports whether a path is named as a study file is.
func IsFile(path string) bool {
	return strings.EqualFold(filepath.Ext(path), FileExt) || IsAddress(path)
}

// IsAddress reports whether a name is the address of a study on a server.
func IsAddress(name string) bool {
	return strings.HasPrefix(name, "postgres://") || strings.HasPrefix(name, "postgresql://")
}

// HoldsSecret reports whether a name is an address that says a password, or may.
func HoldsSecret(name string) bool {
	if !IsAddress(name) {
		return false
	}
	u, err := url.Parse(name)
	if err != nil {
		return true
	}
	_, says := u.User.Password()
	for key := range u.Query() {
		says = says || strings.Contains(strings.ToLower(key), "password")
	}
	return says
}

// NameOf returns what a study is called by its path: the name of the file, or of the database.
func NameOf(path string) string { return filepath.Base(SafeName(path)) }

// SafeName returns a study's path, or its address without what may be a password.
func SafeName(name string) string {
	if u, err := url.Parse(name); IsAddress(name) && err == nil {
		u.RawQuery = "" // may hold one, too
		return u.Redacted()
	} else if IsAddress(name) {
		return "postgres://..."
	}
	return name
}

// Told returns what a reader of films is told of an error: its text, where errors in it
// that are told by a note say it in words; "" for nil.
func Told(err error) string {
	if err == nil {
		return ""
	}
	if n, ok := says(err); ok {
		return NoteWords(n)
	}
	text := err.Error()
	var within []error
	switch e := err.(type) {
	case interface{ Unwrap() error }:
		within = []error{e.Unwrap()}
	case interface{ Unwrap() []error }:
		within = e.Unwrap()
	}
	for _, e := range within {
		if e != nil {
			text = strings.Replace(text, e.Error(), Told(e), 1)
		}
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
