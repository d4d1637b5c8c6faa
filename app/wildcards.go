package main

import (
	"path/filepath"
	"strings"
)

// wildcards puts the files that an argument matches in its place, as shells do everywhere
// but on Windows. What matches none, or is no pattern, stays as it is.
func wildcards(args []string) []string {
	var out []string
	for _, a := range args {
		files, err := filepath.Glob(a)
		if err != nil || len(files) == 0 || !strings.ContainsAny(a, "*?") {
			files = []string{a}
		}
		out = append(out, files...)
	}
	return out
}
