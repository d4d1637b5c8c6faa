package account

import (
	"strings"

	"linerwatch/app/study"
)

// reading says how the films were read: from which lists, how good they are, and which were
// adjudicated.
func (w *writer) reading() {
	w.title("account.reading")
	r := w.Reading
	w.listsRead()
	if r.Adjudicated > 0 {
		w.text("account.adjudicated", "N", float64(r.Adjudicated))
	} else {
		w.text("account.no-adjudication")
	}
	if len(r.Grades) == 0 {
		w.text("account.no-grades")
		return
	}
	columns := []column{{w.say("account.reader"), 1.2, false}, {w.say("account.films"), 0.8, true}}
	for _, q := range study.Qualities() {
		columns = append(columns, column{study.ChoiceIn(w.voice.Say, "grade", strings.ToLower(q.Code)), 1, true})
	}
	columns = append(columns, column{w.say("account.reasons"), 4, false})
	var rows [][]string
	for _, g := range r.Grades {
		row := []string{g.Reader, count(g.Films)}
		for _, n := range g.Qualities {
			row = append(row, w.of(n, g.Films))
		}
		var why []string
		for _, by := range g.Reasons {
			why = append(why, study.ChoiceIn(w.voice.Say, "grade", by.Code)+" "+count(by.N))
		}
		rows = append(rows, append(row, strings.Join(why, "; ")))
	}
	w.text("account.grades", "N", float64(r.Graded))
	w.table("account.grades.table", columns, rows)
}

// listsRead shows the reading lists.
func (w *writer) listsRead() {
	if len(w.Reading.Lists) == 0 {
		w.text("account.no-lists")
		return
	}
	w.text("account.lists", "N", float64(len(w.Reading.Lists)), "Blind", float64(w.Readers.Blind), "Sighted", float64(w.Readers.Sighted))
	var rows [][]string
	for _, l := range w.Reading.Lists {
		gap := none
		if l.Repeats > 0 {
			gap = w.say("account.list.gap", "Films", float64(l.Gap), "Days", float64(l.Days))
		}
		open := w.say("account.list.blind")
		if l.Opened != nil {
			open = w.say("account.list.opened", "Date", l.Opened.At.UTC().Format("2006-01-02"))
		}
		rows = append(rows, []string{l.ID, l.Reader, w.say("account.list.kind", "Kind", string(l.Kind)), w.of(l.Done, len(l.Places)), count(l.Repeats), gap,
			w.say("account.list.start", "Start", string(l.Start)), open})
	}
	w.table("account.lists.table", []column{{w.say("account.list"), 1.2, false}, {w.say("account.reader"), 1, false}, {w.say("account.list.for"), 1.5, false},
		{w.say("account.list.done"), 1.3, true}, {w.say("account.list.repeats"), 1, true}, {w.say("account.list.apart"), 1.7, false},
		{w.say("account.list.begun"), 1.7, false}, {w.say("account.list.blinding"), 1.5, false}}, rows)
}
