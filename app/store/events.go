package store

import (
	"context"
	"database/sql"
	"fmt"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

const eventColumns = "seq, hip_id, kind, date, implant, note, takes_back, reader, at, version, why"

// eventID is the ID of the event of a row.
func eventID(seq int64) string { return fmt.Sprint("E", seq) }

// eventSeq is the row of an event, 0 where the ID is none.
func eventSeq(id string) int64 {
	digits, _ := strings.CutPrefix(id, "E")
	seq, err := strconv.ParseInt(digits, 10, 64)
	if err != nil || eventID(seq) != id {
		return 0
	}
	return seq
}

func scanEvent(scan scanner) (e study.Event, err error) {
	var seq int64
	var back sql.NullInt64
	var date, implant, at string
	if err = scan(&seq, &e.HipID, &e.Kind, &date, &implant, &e.Note, &back, &e.Reader, &at, &e.Version, &e.Why); err != nil {
		return e, err
	}
	if e.ID = eventID(seq); back.Valid {
		e.TakesBack = eventID(back.Int64)
	}
	if err = decode(implant, &e.Implant); err != nil {
		return e, err
	}
	if e.Date, err = parseDate(date); err != nil {
		return e, err
	}
	e.At, err = parseTime(at)
	return e, err
}

func events(ctx context.Context, q querier, where string, args ...any) ([]study.Event, error) {
	return collect(ctx, q, "SELECT "+eventColumns+" FROM event"+where+" ORDER BY seq", args, scanEvent)
}

// Events implements study.Store.
func (s *Tables) Events(ctx context.Context, hipID string) ([]study.Event, error) {
	list, err := events(ctx, s.main(), " WHERE hip_id = ?", hipID)
	if err != nil {
		return nil, s.fault(named("store.read-events", "Hip", short(hipID)), err)
	}
	return list, nil
}

// AddEvent implements study.Store.
func (s *Tables) AddEvent(ctx context.Context, e study.Event) (study.Event, error) {
	saved := e
	err := s.commit(ctx, named("store.add-event", "Hip", short(e.HipID)), func(tx querier) (err error) {
		saved, err = addEvent(ctx, tx, e)
		return err
	})
	return saved, err
}

func addEvent(ctx context.Context, tx querier, e study.Event) (study.Event, error) {
	var back sql.NullInt64
	switch {
	case e.ID != "":
		return e, study.ErrUnknown
	case e.TakesBack != "":
		back = sql.NullInt64{Int64: eventSeq(e.TakesBack), Valid: true}
		was, err := events(ctx, tx, " WHERE seq = ? AND hip_id = ?", back.Int64, e.HipID)
		if err != nil {
			return e, err
		}
		if len(was) == 0 {
			return e, study.ErrUnknown
		}
	}
	texts, err := encode(e.Implant)
	if err != nil {
		return e, err
	}
	if e.Implant == (study.Implant{}) {
		texts[0] = "{}"
	}
	seq, err := inserted(ctx, tx, ofEvent, e.Stamp, `INSERT INTO event (hip_id, kind, date, implant, note, takes_back, reader, at, version, why)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		e.HipID, string(e.Kind), formatDate(e.Date), texts[0], e.Note, back, e.Reader, formatTime(e.At), e.Version, e.Why)
	if err != nil {
		return e, err
	}
	e.ID = eventID(seq)
	return e, nil
}

const gradeColumns = "hip_id, film_id, quality, reason, note, reader, at, version, why"

func scanGrade(scan scanner) (g study.Grade, err error) {
	var at string
	if err = scan(&g.HipID, &g.FilmID, &g.Quality, &g.Reason, &g.Note, &g.Reader, &at, &g.Version, &g.Why); err != nil {
		return g, err
	}
	g.At, err = parseTime(at)
	return g, err
}

func grades(ctx context.Context, q querier, where string, args ...any) ([]study.Grade, error) {
	return collect(ctx, q, "SELECT "+gradeColumns+" FROM grade"+where+" ORDER BY seq", args, scanGrade)
}

// Grades implements study.Store.
func (s *Tables) Grades(ctx context.Context, hipID string) ([]study.Grade, error) {
	list, err := grades(ctx, s.main(), " WHERE hip_id = ?", hipID)
	if err != nil {
		return nil, s.fault(named("store.read-grades", "Hip", short(hipID)), err)
	}
	return list, nil
}

// AddGrade implements study.Store.
func (s *Tables) AddGrade(ctx context.Context, g study.Grade) error {
	return s.commit(ctx, named("store.add-grade", "Film", short(g.FilmID)), func(tx querier) error {
		_, err := inserted(ctx, tx, ofGrade, g.Stamp, "INSERT INTO grade ("+gradeColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
			g.HipID, g.FilmID, g.Quality, g.Reason, g.Note, g.Reader, formatTime(g.At), g.Version, g.Why)
		return err
	})
}
