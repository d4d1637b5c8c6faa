package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"linerwatch/app/study"
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
	Why      string         `json:"no_rate_reason"`
	Settle   []string       `json:"to_settle"`
	Doubts   []string       `json:"doubts"`
	Missing  []string       `json:"not_known"`
}

func summaryOf(s study.Summary, whose string) summaryJSON {
	return summaryJSON{s.Hip.ID, text(s.Hip.Patient), text(s.Hip.Side.String()), text(s.Hip.Group), s.State, text(day(s.First)), text(day(s.Last)), s.Films, s.Read, s.LeftOut,
		s.Unread, s.NoResult, list(s.Readers), WhoseCode(whose), fitOf(s.Fit), study.NoteWords(s.Why), study.NotesWords(s.Attention), study.NotesWords(s.Doubts), study.NotesWords(s.Missing)}
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
			"films_left_out", "films_unread", "films_no_result", "readers", "readings_of", "no_rate_reason", "to_settle", "doubts", "not_known"}, fitColumns...)}
		for _, s := range hips {
			row := []string{s.Hip.ID, s.Hip.Patient, s.Hip.Side.String(), s.Hip.Group, string(s.State), day(s.First), day(s.Last), strconv.Itoa(s.Films), strconv.Itoa(s.Read),
				strconv.Itoa(s.LeftOut), strconv.Itoa(s.Unread), strconv.Itoa(s.NoResult), strings.Join(s.Readers, ";"), WhoseCode(whose), study.NoteWords(s.Why), joined(s.Attention, ";"), joined(s.Doubts, ";"), joined(s.Missing, ";")}
			rows = append(rows, append(row, fitCells(fitOf(s.Fit))...))
		}
		return writeCSV(w, rows)
	}
	return hipsText(w, hips, whose)
}

// joined writes notes one after the other.
func joined(list []study.Note, by string) string { return strings.Join(study.NotesWords(list), by) }

func hipsText(w io.Writer, hips []study.Summary, whose string) error {
	g := newGrid("<hip", "<group", "<state", "<films", "<first", "<last", "<readers", "<rate mm/year (95 %)", "<to settle, missing")
	for _, s := range hips {
		rate := study.NoteWords(s.Why)
		if f := s.Fit; f != nil {
			rate = spread(f.Rate, f.Lo95, f.Hi95, f.HasInterval)
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
	return writeLines(w, "", "Counted: "+study.RuleWords(whose)+". Outlines that no reader has accepted count nowhere.", Caution)
}
