package report

import (
	"io"
	"maps"
	"slices"
	"strings"
)

// Codes writes under which reader codes users of a study on a server may read.
func Codes(w io.Writer, format Format, of map[string][]string) error {
	users := slices.Sorted(maps.Keys(of))
	switch format {
	case JSON:
		type row struct {
			User  string   `json:"user"`
			Codes []string `json:"codes"`
		}
		out := []row{}
		for _, u := range users {
			out = append(out, row{u, of[u]})
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"user", "code"}}
		for _, u := range users {
			for _, c := range of[u] {
				rows = append(rows, []string{u, c})
			}
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<user", "<codes")
	for _, u := range users {
		g.add(u, strings.Join(of[u], ", "))
	}
	return g.write(w)
}
