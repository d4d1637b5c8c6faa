package main

import (
	"cmp"
	"flag"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "draw the house in DEVELOPERS.md anew")

const developers = "../DEVELOPERS.md"

// The house stands in DEVELOPERS.md between these.
const (
	houseFrom = "<!-- drawn by: go test ./app -run House -update -->\n```\n"
	houseTo   = "```\n<!-- end of the drawing -->\n"
)

// TestHouse checks that DEVELOPERS.md shows the house as the imports are.
func TestHouse(t *testing.T) {
	b, err := os.ReadFile(developers)
	require.NoError(t, err)
	before, rest, ok := strings.Cut(string(b), houseFrom)
	require.True(t, ok, houseFrom)
	shown, after, ok := strings.Cut(rest, houseTo)
	require.True(t, ok, houseTo)
	house := drawn(rooms(sources(t)))
	if *update {
		require.NoError(t, os.WriteFile(developers, []byte(before+houseFrom+house+houseTo+after), 0o644))
		return
	}
	require.Equal(t, house, shown, "stale: go test ./app -run House -update")
}

// rooms returns what each room of the house imports: packages are taken together as
// the entries of arrows do.
func rooms(all []source) map[string][]string {
	out := map[string][]string{}
	for _, s := range all {
		room, _ := rule(s.pkg)
		out[room] = append(out[room], "")
		for _, name := range s.imports {
			if own, ok := strings.CutPrefix(name, module); ok {
				to, _ := rule(own)
				out[room] = append(out[room], to)
			}
		}
	}
	for room, list := range out {
		list = slices.DeleteFunc(list, func(to string) bool { return to == "" || to == room })
		slices.Sort(list)
		out[room] = slices.Compact(list)
	}
	return out
}

// floor is the length of the longest way down from a room.
func floor(house map[string][]string, room string) int {
	n := 0
	for _, to := range house[room] {
		n = max(n, 1+floor(house, to))
	}
	return n
}

// drawn is a line for each room, the highest floor first. A line leads from each room that
// imports another, a dot, down to that one.
func drawn(house map[string][]string) string {
	order := slices.SortedFunc(maps.Keys(house), func(a, b string) int {
		return cmp.Or(floor(house, b)-floor(house, a), strings.Compare(a, b))
	})
	wide := 0
	for _, room := range order {
		wide = max(wide, len(room)+2)
	}
	var columns []string // of the rooms that are imported
	for _, room := range order {
		if slices.ContainsFunc(order, func(o string) bool { return slices.Contains(house[o], room) }) {
			columns = append(columns, room)
		}
	}
	var b strings.Builder
	begun := map[string]bool{}
	for _, room := range order {
		line := room + " " + strings.Repeat(" ", wide-len(room)-1)
		own := slices.Index(columns, room)
		if own >= 0 {
			line = room + " ◂" + strings.Repeat("─", wide-len(room)-2)
		}
		for i, c := range columns {
			imports := slices.Contains(house[room], c)
			begun[c] = begun[c] || imports
			switch {
			case i < own:
				line += "───"
			case i == own:
				line += "┘  "
			case imports:
				line += "●  "
			case begun[c] && i > own:
				line += "│  "
			default:
				line += "   "
			}
			if i == own {
				delete(begun, c)
			}
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

// A small house, drawn by hand.
func TestDrawn(t *testing.T) {
	require.Equal(t, `
main    ●     ●
attic ◂─┘  ●  │
hall ◂─────┘  ●
cellar ◂──────┘
shed
`[1:], drawn(map[string][]string{
		"main": {"attic", "cellar"}, "attic": {"hall"}, "hall": {"cellar"}, "cellar": nil, "shed": nil,
	}))
}
