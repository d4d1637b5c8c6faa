package findings

import (
	"time"

	"linerwatch/app/study"
)

// Liners is how long the liners of a study stayed in place.
type Liners struct {
	Curves []study.LinerCurve
	Told   []study.Quantity
	Why    study.Note // nothing is told
	N      int        // liners that are followed
	Left   int        // hips whose date of surgery or last film is not known
}

// liner is a hip as it is followed.
type liner struct {
	row    study.LinerRow
	told   bool // the times are known
	events bool // something is known to have happened
}

// The codes of events of a liner.
const (
	inPlace = 0
	revised = 1
	died    = 2
)

// addLiner follows the liner of a hip from surgery to its exchange or the revision of the
// cup, to the patient's death, which competes, or to when it was last known to be in place:
// the last film, or the day from which the hip was lost. The exchange of a head alone leaves
// the liner in place.
func (g *Gatherer) addLiner(r study.Record) {
	var last time.Time
	for _, f := range r.Films {
		if f.Date().After(last) {
			last = f.Date()
		}
	}
	one := liner{row: study.LinerRow{Hip: r.Hip.ID, Patient: r.Hip.Patient}}
	for _, e := range study.StandingEvents(r.Events) {
		one.events = true
		code := inPlace
		switch e.Kind {
		case study.LinerExchanged, study.CupRevised:
			code = revised
		case study.Died:
			code = died
		}
		if e.Date.After(last) || code != inPlace {
			last = e.Date
		}
		if one.row.Event = code; code != inPlace {
			break
		}
	}
	one.told = !r.Hip.Surgery.IsZero() && last.After(r.Hip.Surgery)
	if one.told {
		one.row.Years = r.Hip.Years(last)
	}
	g.liners = append(g.liners, one)
}

// followed are the rows of liners whose times are known, in their groups.
func followed(list []liner, hips []Hip) (rows []study.LinerRow, events bool) {
	for i, l := range list {
		events = events || l.events
		if l.told {
			l.row.Group = hips[i].In
			rows = append(rows, l.row)
		}
	}
	return rows, events
}

// liners tells what the liners of hips do. Where no event is known of any hip nothing is
// told: nobody may have looked.
func liners(list []liner, hips []Hip) Liners {
	rows, events := followed(list, hips)
	if !events {
		return Liners{Why: said("findings.no-event")}
	}
	out := TellLiners(rows)
	out.Left = len(list) - len(rows)
	return out
}

// TellLiners computes what liners tell by themselves.
func TellLiners(rows []study.LinerRow) Liners {
	out := Liners{N: len(rows)}
	var err error
	if out.Told, err = study.Liners(rows, study.LinerOptions{Events: map[int]string{died: string(study.Died)}}); err == nil {
		out.Curves, err = study.LinerCurves(rows)
	}
	if err != nil {
		return Liners{Why: study.NoteOf(err)}
	}
	return out
}
