package findingstest

import (
	"fmt"
	"time"

	"linerwatch/app/study"
)

// read is when films are read from lists.
var read = time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)

// Lists are those of a study that is Listed: one of each reader, whose first film of each hip
// the first reader reads twice, and one film that the next reader adjudicates.
func (s Study) Lists() []study.List {
	if !s.Listed {
		return nil
	}
	films := max(s.Films, 5)
	var out []study.List
	for reader := range max(s.Readers, 1) {
		l := study.List{ID: fmt.Sprint("L", reader+1), Reader: fmt.Sprint("R", reader+1), Kind: study.ReadList, Seed: 1, Start: study.StartBlank,
			Made: study.Stamp{Reader: "LEAD", At: read.AddDate(0, 0, -1)}}
		for hip := range s.Hips {
			for k := range films {
				l.Places = append(l.Places, place(hip, k, 1))
			}
		}
		if reader == 0 {
			l.Share, l.Gap, l.Days = 20, 10, 14
			for hip := range s.Hips {
				l.Places = append(l.Places, place(hip, 0, 2))
			}
			l.Opened = &study.Unblinding{ListID: l.ID, Stamp: study.Stamp{Reader: "R1", At: read.AddDate(0, 0, 19)}}
		}
		out = append(out, l)
	}
	third := fmt.Sprint("R", max(s.Readers, 1)+1)
	return append(out, study.List{ID: "LA", Reader: third, Kind: study.AdjudicateList, Start: study.StartBlank, Places: []study.Place{place(0, 0, 1)},
		Made: study.Stamp{Reader: "LEAD", At: read.AddDate(0, 0, 15)}})
}

func place(hip, film, occasion int) study.Place {
	return study.Place{HipID: fmt.Sprint("H", hip+1), FilmID: fmt.Sprintf("FH%d-%d", hip+1, film+1), Occasion: occasion}
}

// list makes the readings of a hip those of lists, and grades its films.
func (s Study) list(rec *study.Record, hip int) {
	films, readers := len(rec.Films), max(s.Readers, 1)
	for i := range rec.Readings {
		k, reader := i/readers, i%readers
		g := &rec.Readings[i]
		g.Listed = study.Listed{List: fmt.Sprint("L", reader+1), Kind: study.ReadList, Place: hip*films + k + 1, Occasion: 1, Start: study.StartBlank}
		grade := study.Grade{HipID: rec.Hip.ID, FilmID: g.FilmID, Quality: []string{"A", "A", "B", "C", "A"}[k%5], Reason: []string{"", "", "rotation", "blur", ""}[k%5],
			Stamp: study.Stamp{Reader: g.Reader, At: g.At}}
		rec.Grades = append(rec.Grades, grade)
	}
	again := func(reader string, days int, l study.Listed) {
		g := rec.Readings[0]
		g.ID, g.Reader, g.At, g.Listed = g.ID+reader+l.List, reader, g.At.AddDate(0, 0, days), l
		g.Reading.Offset.Superior += 0.02
		rec.Readings = append(rec.Readings, g)
	}
	again("R1", 18, study.Listed{List: "L1", Kind: study.ReadList, Place: s.Hips*films + hip + 1, Occasion: 2, Start: study.StartBlank})
	if hip == 0 {
		again(fmt.Sprint("R", readers+1), 17, study.Listed{List: "LA", Kind: study.AdjudicateList, Place: 1, Occasion: 1, Start: study.StartBlank})
	}
}
