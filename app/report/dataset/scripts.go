package dataset

import (
	"bytes"
	"fmt"
	"strings"
	"unicode"

	"linerwatch/app/study"
)

// script loads the tables into a statistics program.
type script struct {
	file, into, format string
	write              func([]loaded) []byte
}

// scripts are those of a package. Those for R, Python and SPSS are run by .ci/peers (SPSS's
// by PSPP); that for Stata has not been run.
var scripts = []script{
	{"load.R", "R", "R", writeR},
	{"load.py", "Python (pandas)", "py", writePython},
	{"load.sps", "SPSS", "sps", writeSPSS},
	{"load.do", "Stata", "do", writeStata},
}

// loaded is a table as a script loads it.
type loaded struct {
	table
	widths []int // the longest cell of each column, bytes
}

func (e *export) toLoad() (out []loaded) {
	for _, t := range e.tables.list() {
		out = append(out, loaded{t, e.widths[t.name]})
	}
	return out
}

// page is a script on its way.
type page struct{ bytes.Buffer }

func (p *page) line(format string, args ...any) { fmt.Fprintf(&p.Buffer, format+"\n", args...) }

// names are names of columns as a program takes them: letters, digits and underscores, a
// letter first, at most so many, none twice whatever its capitals, none that is reserved.
func names(fields []field, most int, reserved string) []string {
	taken := map[string]bool{}
	for _, r := range strings.Fields(reserved) {
		taken[r] = true
	}
	out := make([]string, len(fields))
	for i, f := range fields {
		stem := strings.Map(func(r rune) rune {
			if r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)) {
				return r
			}
			return '_'
		}, f.name)
		if !unicode.IsLetter(rune(stem[0])) {
			stem = "v" + stem
		}
		name := stem[:min(len(stem), most)]
		for n := 2; taken[strings.ToLower(name)]; n++ {
			end := fmt.Sprint("_", n)
			name = stem[:min(len(stem), most-len(end))] + end
		}
		taken[strings.ToLower(name)] = true
		out[i] = name
	}
	return out
}

// told are the words of codes that have some.
func told(choices []study.Choice) (out []study.Choice) {
	for _, c := range choices {
		if c.Words != "" {
			out = append(out, c)
		}
	}
	return out
}

const intro = "Written by linerwatch. Loads the tables of this folder with types, labels and missing values."
