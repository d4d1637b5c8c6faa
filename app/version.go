package main

import (
	"cmp"
	"runtime/debug"
)

// number is that of the program.
const number = "0.1.0"

// commit is the one that the program was built from, where the build says it by
// -ldflags "-X main.commit=..."; else what the Go command has noted of the source tree.
var commit string

// version returns what is kept with each reading and proposal: the number, and after a plus
// the commit, "unknown" where none is known; ".changed" where the tree held more than that.
func version() string {
	info, _ := debug.ReadBuildInfo()
	return versionOf(commit, info)
}

func versionOf(told string, info *debug.BuildInfo) string {
	noted := map[string]string{}
	if info != nil {
		for _, s := range info.Settings {
			noted[s.Key] = s.Value
		}
	}
	of := cmp.Or(told, noted["vcs.revision"], "unknown")
	const short = 12
	if of = of[:min(len(of), short)]; told == "" && noted["vcs.modified"] == "true" {
		of += ".changed"
	}
	return number + "+" + of
}
