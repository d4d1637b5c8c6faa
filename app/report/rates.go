package report

import (
	"fmt"
	"io"
	"strconv"

	"linerwatch/app/study"
)

type rateJSON struct {
	Hip      string   `json:"hip"`
	N        int      `json:"n"`
	Used     int      `json:"n_used"`
	Fit      *fitJSON `json:"fit"`
	Reason   string   `json:"reason"`
	Warnings []string `json:"warnings"`
}

// Rates writes one object or row per hip of a table of penetrations.
func Rates(w io.Writer, format Format, rates []study.HipRate) error {
	switch format {
	case JSON:
		out := []rateJSON{}
		for _, r := range rates {
			out = append(out, rateOf(r))
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{append([]string{"hip", "n", "n_used", "reason"}, fitColumns...)}
		for _, r := range rates {
			row := []string{r.Hip, strconv.Itoa(r.N), strconv.Itoa(r.Used), study.NoteWords(r.Reason)}
			rows = append(rows, append(row, fitCells(rateOf(r).Fit)...))
		}
		return writeCSV(w, rows)
	}
	return ratesText(w, rates)
}

// rateOf leaves out the direction: the table does not say which its values
// have.
func rateOf(r study.HipRate) rateJSON {
	out := rateJSON{r.Hip, r.N, r.Used, fitOf(r.Fit), study.NoteWords(r.Reason), study.NotesWords(r.Warnings)}
	if out.Fit != nil {
		out.Fit.Along = "as given"
	}
	return out
}

func ratesText(w io.Writer, rates []study.HipRate) error {
	g := newGrid("<hip", "rows", "in the line", "<rate mm/year (95 %)", "<bedding-in mm (95 %)", "first to last mm/year")
	var notes []string
	for _, r := range rates {
		rate, bedding, first := "-", "-", "-"
		if f := r.Fit; f != nil {
			rate = spread(f.Rate, f.Lo95, f.Hi95, f.HasInterval)
			if f.HasBedding {
				bedding = spread(f.BeddingIn, f.BeddingLo95, f.BeddingHi95, f.HasInterval)
			}
			if f.HasFirstToLast {
				first = column{3}.value(f.FirstToLast)
			}
		}
		g.add(r.Hip, strconv.Itoa(r.N), strconv.Itoa(r.Used), rate, bedding, first)
		if !r.Reason.IsZero() {
			notes = append(notes, fmt.Sprintf("%s: %s", r.Hip, study.NoteWords(r.Reason)))
		}
		for _, s := range study.NotesWords(r.Warnings) {
			notes = append(notes, fmt.Sprintf("%s: note: %s", r.Hip, s))
		}
	}
	if err := g.write(w); err != nil {
		return err
	}
	return writeLines(w, append(notes, "", Caution())...)
}

// spread writes "0.052 (0.031 to 0.073)".
func spread(v, lo, hi float64, has bool) string {
	if !has || !num(hi-lo).exists() {
		return column{3}.value(v)
	}
	c := column{Decimals((hi - lo) / 4)}
	return fmt.Sprintf("%s (%s to %s)", c.value(v), c.value(lo), c.value(hi))
}
