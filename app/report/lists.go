package report

import (
	"fmt"
	"io"
	"strconv"
	"time"

	"linerwatch/app/study"
)

// ListProgress is a reading list and how far its reader has come.
type ListProgress struct {
	study.List
	Done int // places
}

type listJSON struct {
	ID      string  `json:"list"`
	Reader  string  `json:"reader"`
	Kind    string  `json:"kind"`
	Places  int     `json:"places"`
	Repeats int     `json:"repeats"`
	Done    int     `json:"done"`
	Start   string  `json:"start"`
	Shows   bool    `json:"numbers_shown"`
	Seed    string  `json:"seed"` // 64 bits, more than a JSON number keeps
	Share   float64 `json:"share"`
	Gap     int     `json:"gap_films"`
	Days    int     `json:"gap_days"`
	Made    string  `json:"made"`
	By      string  `json:"made_by"`
	Opened  *string `json:"unblinded"`
	Why     string  `json:"unblinded_because"`
}

func listOf(l ListProgress) listJSON {
	out := listJSON{ID: l.ID, Reader: l.Reader, Kind: string(l.Kind), Places: len(l.Places), Done: l.Done, Start: string(l.Start), Shows: l.Shows,
		Seed: strconv.FormatUint(l.Seed, 10), Share: l.Share, Gap: l.Gap, Days: l.Days, Made: l.Made.At.UTC().Format(time.RFC3339), By: l.Made.Reader}
	for _, p := range l.Places {
		if p.Occasion > 1 {
			out.Repeats++
		}
	}
	if l.Opened != nil {
		out.Opened, out.Why = text(l.Opened.At.UTC().Format(time.RFC3339)), l.Opened.Why
	}
	return out
}

// Lists writes reading lists, one object or row each: never which films are on them.
func Lists(w io.Writer, format Format, lists []ListProgress) error {
	switch format {
	case JSON:
		out := []listJSON{}
		for _, l := range lists {
			out = append(out, listOf(l))
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{{"list", "reader", "kind", "places", "repeats", "done", "start", "numbers_shown", "seed", "share", "gap_films", "gap_days", "made", "made_by", "unblinded", "unblinded_because"}}
		for _, l := range lists {
			j := listOf(l)
			opened := ""
			if j.Opened != nil {
				opened = *j.Opened
			}
			rows = append(rows, []string{j.ID, j.Reader, j.Kind, strconv.Itoa(j.Places), strconv.Itoa(j.Repeats), strconv.Itoa(j.Done), j.Start, yes(j.Shows), j.Seed,
				strconv.FormatFloat(j.Share, 'g', -1, 64), strconv.Itoa(j.Gap), strconv.Itoa(j.Days), j.Made, j.By, opened, j.Why})
		}
		return writeCSV(w, rows)
	}
	g := newGrid("<list", "<reader", "<kind", "done", "of", "repeats", "<start", "<seed", "<unblinded")
	for _, l := range lists {
		j := listOf(l)
		opened := "no"
		if l.Opened != nil {
			opened = fmt.Sprintf("%s by %s: %s", day(l.Opened.At), l.Opened.Reader, l.Opened.Why)
		}
		g.add(j.ID, j.Reader, j.Kind, strconv.Itoa(j.Done), strconv.Itoa(j.Places), strconv.Itoa(j.Repeats), j.Start, j.Seed, opened)
	}
	return g.write(w)
}
