package report

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

type summaryJSON struct {
	Hip      string         `json:"hip"`
	Patient  *string        `json:"patient"`
	Side     *string        `json:"side"`
	Group    *string        `json:"group"`
	State    study.HipState `json:"state"`
	First    *string        `json:"first_film"`
	Last     *string        `json:"last_film"`
	Films    int            `json:"films"`
	Read     int            `json:"films_read"`
	LeftOut  int            `json:"films_left_out"`
	Unread   int            `json:"films_unread"`
	NoResult int            `json:"films_no_result"`
	Readers  []string       `json:"readers"`
	Readings string         `json:"readings_of"`
	Fit      *fitJSON       `json:"fit"`
	Series   []laterJSON    `json:"later_series"`
	Why      string         `json:"no_rate_reason"`
	Settle   []string       `json:"to_settle"`
	Doubts   []string       `json:"doubts"`
	Missing  []string       `json:"not_known"`
}

// laterJSON is a series of films after an exchange.
type laterJSON struct {
	No   int      `json:"series"`
	From *string  `json:"from"`
	Read int      `json:"films_read"`
	Fit  *fitJSON `json:"fit"`
	Why  string   `json:"no_rate_reason"`
}

func laterOf(list []study.SeriesRate) []laterJSON {
	out := []laterJSON{}
	for _, l := range list {
		out = append(out, laterJSON{l.No, text(day(l.From)), l.Read, fitOf(l.Fit), study.NoteWords(l.Why)})
	}
	return out
}

func summaryOf(s study.Summary, whose string) summaryJSON {
	return summaryJSON{s.Hip.ID, text(s.Hip.Patient), text(s.Hip.Side.String()), text(s.Hip.Group), s.State, text(day(s.First)), text(day(s.Last)), s.Films, s.Read, s.LeftOut,
		s.Unread, s.NoResult, list(s.Readers), WhoseCode(whose), fitOf(s.Fit), laterOf(s.Series), study.NoteWords(s.Why), study.NotesWords(s.Attention), study.NotesWords(s.Doubts), study.NotesWords(s.Missing)}
}

// Hips writes one object or row per hip of a study, by the readings of a reader
// or of study.Anyone.
func Hips(w io.Writer, format Format, hips []study.Summary, whose string) error {
	switch format {
	case JSON:
		out := []summaryJSON{}
		for _, s := range hips {
			out = append(out, summaryOf(s, whose))
		}
		return writeJSON(w, out)
	case CSV:
		rows := [][]string{append([]string{"hip", "patient", "side", "group", "state", "first_film", "last_film", "films", "films_read",
			"films_left_out", "films_unread", "films_no_result", "readers", "readings_of", "no_rate_reason", "to_settle", "doubts", "not_known"}, append(slices.Clone(fitColumns), "series", "series_from", "series_rate_mm_per_year", "series_lo95", "series_hi95")...)}
		for _, s := range hips {
			row := []string{s.Hip.ID, s.Hip.Patient, s.Hip.Side.String(), s.Hip.Group, string(s.State), day(s.First), day(s.Last), strconv.Itoa(s.Films), strconv.Itoa(s.Read),
				strconv.Itoa(s.LeftOut), strconv.Itoa(s.Unread), strconv.Itoa(s.NoResult), strings.Join(s.Readers, ";"), WhoseCode(whose), study.NoteWords(s.Why), joined(s.Attention, ";"), joined(s.Doubts, ";"), joined(s.Missing, ";")}
			rows = append(rows, slices.Concat(row, fitCells(fitOf(s.Fit)), currentCells(s.Current())))
		}
		return writeCSV(w, rows)
	}
	return hipsText(w, hips, whose)
}

// currentCells are the cells of the latest series of which a film counts.
func currentCells(now study.SeriesRate) []string {
	out := []string{strconv.Itoa(now.No), day(now.From), "", "", ""}
	if f := fitOf(now.Fit); f != nil {
		out[2], out[3], out[4] = f.Rate.cell(), f.Lo95.cell(), f.Hi95.cell()
	}
	return out
}

// joined writes notes one after the other.
func joined(list []study.Note, by string) string { return strings.Join(study.NotesWords(list), by) }

func hipsText(w io.Writer, hips []study.Summary, whose string) error {
	g := newGrid("<hip", "<group", "<state", "<films", "<first", "<last", "<readers", "<rate mm/year (95 %)", "<to settle, missing")
	for _, s := range hips {
		now := s.Current()
		rate := study.NoteWords(now.Why)
		if f := now.Fit; f != nil {
			rate = spread(f.Rate, f.Lo95, f.Hi95, f.HasInterval)
		}
		if now.No > 1 {
			rate = texts.Say("hips.series", texts.Values{"From": day(now.From), "More": rate})
		}
		films := fmt.Sprintf("%d read, %d left out, %d not read", s.Read, s.LeftOut, s.Unread)
		if s.NoResult > 0 {
			films += fmt.Sprintf(", %d without result", s.NoResult)
		}
		g.add(s.Hip.Label(), dash(s.Hip.Group), s.State.Words(), films, dash(day(s.First)), dash(day(s.Last)),
			dash(strings.Join(s.Readers, " ")), rate, dash(joined(s.Remarks(), ", ")))
	}
	if err := g.write(w); err != nil {
		return err
	}
	return writeLines(w, "", "Counted: "+study.RuleWords(whose)+". Outlines that no reader has accepted count nowhere.", Caution())
}
