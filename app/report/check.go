package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Checked is what was found when a study was looked through.
type Checked struct {
	study.Audit
	Noted      *study.TrailRow // that is to be in the trail; nil where none was asked of
	NotedHolds bool
	Disclosed  []study.TrailRow // of whom numbers were shown or handed out to
	Films      []CheckedFilm    // nil where they were not looked at
	Backups    []string         // paths, the oldest first
}

// CheckedFilm is a film, and how its file stands.
type CheckedFilm struct {
	Film  study.Film
	State string
	Bad   bool
}

// Whole reports whether all of it holds.
func (c Checked) Whole() bool {
	for _, f := range c.Films {
		if f.Bad {
			return false
		}
	}
	return len(c.Broken) == 0 && (c.Noted == nil || c.NotedHolds)
}

// checkRow is one finding.
type checkRow struct {
	Row  int64  `json:"row"` // of the trail; 0 for none
	At   string `json:"at"`
	By   string `json:"reader"`
	What string `json:"what"`
	ID   string `json:"id"`
	Why  string `json:"finding"`
}

func (c Checked) rows() []checkRow {
	out := []checkRow{}
	add := func(r study.TrailRow, why string) {
		at := ""
		if !r.At.IsZero() {
			at = r.At.UTC().Format(time.RFC3339)
		}
		out = append(out, checkRow{r.Seq, at, r.Reader, r.What, r.ID, why})
	}
	for _, b := range c.Broken {
		add(b.TrailRow, study.NoteWords(b.Why))
	}
	if c.Noted != nil && !c.NotedHolds {
		add(study.TrailRow{Seq: c.Noted.Seq}, "the audit trail does not have this row with the hash that was noted: it was made anew, or is of another study")
	}
	for _, f := range c.Films {
		if f.Bad {
			add(study.TrailRow{What: "film", ID: f.Film.ID}, "the file "+f.Film.Name()+" is "+f.State)
		}
	}
	return out
}

// disclosedRow is one time that numbers were shown or handed out.
type disclosedRow struct {
	Row   int64    `json:"row"` // of the trail
	At    string   `json:"at"`
	By    string   `json:"reader"`
	Kind  string   `json:"kind"`
	Hip   string   `json:"hip"`   // empty for the whole study
	Lists []string `json:"lists"` // that were being read blind
	Why   string   `json:"why"`
}

// disclosed tells of them all, in the order of the trail. A row that cannot be read has no kind.
func (c Checked) disclosed() []disclosedRow {
	out := []disclosedRow{}
	for _, r := range c.Disclosed {
		d := study.DisclosureOf(r)
		out = append(out, disclosedRow{r.Seq, r.At.UTC().Format(time.RFC3339), r.Reader, string(d.Kind), d.HipID, append([]string{}, d.Lists...), r.Why})
	}
	return out
}

// Check writes what was found: as JSON in one object, as CSV a row for each thing that does
// not hold.
func Check(w io.Writer, format Format, c Checked) error {
	rows := c.rows()
	switch format {
	case JSON:
		newest := ""
		if n := len(c.Backups); n > 0 {
			newest = c.Backups[n-1]
		}
		return writeJSON(w, struct {
			Whole     bool           `json:"whole"`
			Changes   int64          `json:"trail_rows"`
			End       string         `json:"trail_end"`
			Readings  int            `json:"readings"`
			Films     int            `json:"films_compared"`
			Back      int            `json:"clock_set_back"`
			Backup    string         `json:"newest_backup"`
			Disclosed []disclosedRow `json:"disclosures"`
			Findings  []checkRow     `json:"findings"`
		}{c.Whole(), c.Changes, fmt.Sprintf("%d:%s", c.Changes, c.End), c.Readings, len(c.Films), len(c.Back), newest, c.disclosed(), rows})
	case CSV:
		out := [][]string{{"row", "at", "reader", "what", "id", "finding"}}
		for _, r := range rows {
			out = append(out, []string{strconv.FormatInt(r.Row, 10), r.At, r.By, r.What, r.ID, r.Why})
		}
		return writeCSV(w, out)
	}
	return checkText(w, c, rows)
}

func checkText(w io.Writer, c Checked, rows []checkRow) error {
	lines := []string{}
	if len(rows) > 0 {
		lines = append(lines, "NOT WHOLE. First: "+rows[0].text())
		for i, r := range rows[1:] {
			if i == mostFindings {
				lines = append(lines, fmt.Sprintf("and %d more: --format csv lists them", len(rows)-1-mostFindings))
				break
			}
			lines = append(lines, "also: "+r.text())
		}
	}
	lines = append(lines, fmt.Sprintf("audit trail: %s, the last is %d:%s", study.Count(int(c.Changes), "row"), c.Changes, c.End))
	lines = append(lines, fmt.Sprintf("readings looked at, with their edge points: %d", c.Readings))
	if c.Films != nil {
		lines = append(lines, fmt.Sprintf("film files compared: %d", len(c.Films)))
	}
	if n := len(c.Back); n > 0 {
		lines = append(lines, fmt.Sprintf("the clock was behind that of the row before in %s, first in row %d", study.Count(n, "row"), c.Back[0].Seq))
	}
	for _, d := range c.disclosed() {
		lines = append(lines, texts.Say("check.disclosed", texts.Values{"At": d.At, "Reader": d.By, "Kind": d.Kind, "Hip": d.Hip,
			"Lists": strings.Join(d.Lists, ", "), "Why": d.Why}))
	}
	if n := len(c.Backups); n > 0 {
		lines = append(lines, "newest backup: "+c.Backups[n-1])
	} else {
		lines = append(lines, "no backup beside it")
	}
	if len(rows) == 0 {
		lines = append(lines, "All of it holds.")
	}
	for _, l := range lines {
		if _, err := io.WriteString(w, OneLine(l)+"\n"); err != nil {
			return err
		}
	}
	return nil
}

// mostFindings is how many are told to people beside the first.
const mostFindings = 9

func (r checkRow) text() string {
	out := r.Why
	if r.Row > 0 {
		out += fmt.Sprintf(" (row %d", r.Row)
		if r.At != "" {
			out += ", " + r.At
		}
		if r.By != "" {
			out += ", by " + r.By
		}
		out += ")"
	}
	return out
}

// Salvaged writes what was read of a damaged study, and what was lost, by kind.
func Salvaged(w io.Writer, format Format, s study.Salvaged) error {
	lost := func(k study.SalvagedKind) string {
		if k.Unsure {
			return fmt.Sprintf("%d or more", k.Lost)
		}
		return strconv.Itoa(k.Lost)
	}
	switch format {
	case JSON:
		type kind struct {
			Name   string `json:"table"`
			Read   int    `json:"read"`
			Told   int    `json:"from_audit_trail"`
			Lost   int    `json:"lost"`
			Unsure bool   `json:"lost_may_be_more"`
		}
		out := []kind{}
		for _, k := range s.Kinds {
			out = append(out, kind(k))
		}
		return writeJSON(w, out)
	case CSV:
		out := [][]string{{"table", "read", "from_audit_trail", "lost", "lost_may_be_more"}}
		for _, k := range s.Kinds {
			out = append(out, []string{k.Name, strconv.Itoa(k.Read), strconv.Itoa(k.Told), strconv.Itoa(k.Lost), strconv.FormatBool(k.Unsure)})
		}
		return writeCSV(w, out)
	}
	g := newGrid("<of", "read", "from the trail", "lost")
	for _, k := range s.Kinds {
		g.add(k.Name, strconv.Itoa(k.Read), strconv.Itoa(k.Told), lost(k))
	}
	return g.write(w)
}
