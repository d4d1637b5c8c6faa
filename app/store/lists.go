package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strconv"

	"linerwatch/app/study"
)

const listColumns = `reading_list.id, reading_list.assigned, reading_list.kind, reading_list.seed, reading_list.share,
	reading_list.gap, reading_list.days, reading_list.start, reading_list.shows, reading_list.places, reading_list.reader,
	reading_list.at, reading_list.version, reading_list.why, unblinding.why, unblinding.reader, unblinding.at, unblinding.version`

func scanList(scan scanner) (l study.List, err error) {
	var seed, places, at string
	var why, reader, opened, version sql.NullString
	if err = scan(&l.ID, &l.Reader, &l.Kind, &seed, &l.Share, &l.Gap, &l.Days, &l.Start, &l.Shows, &places, &l.Made.Reader,
		&at, &l.Made.Version, &l.Made.Why, &why, &reader, &opened, &version); err != nil {
		return l, err
	}
	if l.Seed, err = strconv.ParseUint(seed, 10, 64); err != nil {
		return l, err
	}
	if err = decode(places, &l.Places); err != nil {
		return l, err
	}
	if l.Made.At, err = parseTime(at); err != nil || !why.Valid {
		return l, err
	}
	l.Opened = &study.Unblinding{ListID: l.ID, Stamp: study.Stamp{Reader: reader.String, Version: version.String, Why: why.String}}
	l.Opened.At, err = parseTime(opened.String)
	return l, err
}

// lists reads those that where leaves, oldest first.
func lists(ctx context.Context, q querier, where string, args ...any) ([]study.List, error) {
	return collect(ctx, q, "SELECT "+listColumns+" FROM reading_list LEFT JOIN unblinding ON unblinding.list_id = reading_list.id "+
		where+" ORDER BY reading_list.seq", args, scanList)
}

// Lists implements study.Store.
func (s *Tables) Lists(ctx context.Context) ([]study.List, error) {
	all, err := lists(ctx, s.main(), "")
	if err != nil {
		return nil, s.fault(named("store.read-lists"), err)
	}
	return all, nil
}

// AddLists implements study.Store.
func (s *Tables) AddLists(ctx context.Context, list []study.List, by study.Stamp) (saved []study.List, err error) {
	err = s.commit(ctx, named("store.add-lists"), func(tx querier) error {
		saved = nil
		for _, l := range list {
			if l, err = addList(ctx, tx, l, by); err != nil {
				return err
			}
			saved = append(saved, l)
		}
		return nil
	})
	return saved, err
}

func addList(ctx context.Context, tx querier, l study.List, by study.Stamp) (study.List, error) {
	var n int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM reading_list").Scan(&n); err != nil {
		return l, err
	}
	l.ID, l.Made, l.Opened = fmt.Sprint("L", n+1), by, nil
	if err := oneAtATime(ctx, tx, l); err != nil {
		return l, err
	}
	for _, p := range l.Places {
		var there int
		if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM link WHERE hip_id = ? AND film_id = ?", p.HipID, p.FilmID).Scan(&there); err != nil {
			return l, err
		}
		if there == 0 {
			return l, study.ErrUnknown
		}
	}
	places, err := json.Marshal(l.Places)
	if err != nil {
		return l, err
	}
	_, err = inserted(ctx, tx, ofList, by, `INSERT INTO reading_list (id, assigned, kind, seed, share, gap, days, start, shows, places, reader, at, version, why)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, l.ID, l.Reader, string(l.Kind), strconv.FormatUint(l.Seed, 10), l.Share,
		l.Gap, l.Days, string(l.Start), l.Shows, string(places), by.Reader, formatTime(by.At), by.Version, by.Why)
	return l, err
}

// oneAtATime refuses a list of a reader who has one to read, which may hold the same films.
func oneAtATime(ctx context.Context, tx querier, made study.List) error {
	open, err := lists(ctx, tx, "WHERE reading_list.assigned = ? AND unblinding.list_id IS NULL", made.Reader)
	if err != nil {
		return err
	}
	for _, l := range open {
		done, err := listDone(ctx, tx, l.ID)
		if err != nil {
			return err
		}
		if l.Left(done) > 0 {
			return l.StillRead()
		}
	}
	return nil
}

// ListDone implements study.Store.
func (s *Tables) ListDone(ctx context.Context, listID string) (study.Done, error) {
	done, err := listDone(ctx, s.main(), listID)
	if err != nil {
		return nil, s.fault(named("store.read-lists"), err)
	}
	return done, nil
}

func listDone(ctx context.Context, q querier, listID string) (study.Done, error) {
	excluded, err := collect(ctx, q, "SELECT "+exclusionColumns+" FROM exclusion WHERE list_id = ? ORDER BY seq", []any{listID}, scanExclusion)
	if err != nil {
		return nil, err
	}
	read, err := collect(ctx, q, "SELECT reading.place, reading.at FROM reading"+lastWithdrawal+
		" WHERE reading.list_id = ? AND coalesce(withdrawal.back, 1) <> 0 ORDER BY reading.seq", []any{listID},
		func(scan scanner) (r study.Reading, err error) {
			var at string
			r.Listed.List = listID
			if err = scan(&r.Listed.Place, &at); err == nil {
				r.At, err = parseTime(at)
			}
			return r, err
		})
	return study.List{ID: listID}.DoneOf(read, excluded), err
}

// listOf returns the list of an ID.
func listOf(ctx context.Context, q querier, id string) (study.List, error) {
	l, err := lists(ctx, q, "WHERE reading_list.id = ?", id)
	switch {
	case err != nil:
		return study.List{}, err
	case len(l) == 0:
		return study.List{}, study.ErrUnknown
	}
	return l[0], nil
}

// checkListReading refuses a reading of a list that is not what the list asks for, or whose
// place is done.
func checkListReading(ctx context.Context, tx querier, r study.Reading) error {
	if r.Listed == (study.Listed{}) {
		return nil
	}
	l, err := listOf(ctx, tx, r.Listed.List)
	if err == nil {
		err = l.Check(r)
	}
	if err != nil {
		return err
	}
	return openPlace(ctx, tx, l.ID, r.Listed.Place)
}

// checkListExclusion is to decisions at a place what checkListReading is to readings.
func checkListExclusion(ctx context.Context, tx querier, e study.Exclusion) error {
	if e.List == "" {
		return nil
	}
	l, err := listOf(ctx, tx, e.List)
	if err == nil {
		err = l.CheckExclusion(e)
	}
	if err != nil || e.Code == "" {
		return err
	}
	return openPlace(ctx, tx, l.ID, e.Place)
}

func openPlace(ctx context.Context, tx querier, list string, place int) error {
	done, err := listDone(ctx, tx, list)
	if _, is := done[place]; err == nil && is {
		return study.ErrPlaceDone
	}
	return err
}

// AddUnblinding implements study.Store.
func (s *Tables) AddUnblinding(ctx context.Context, u study.Unblinding) error {
	return s.commit(ctx, named("store.unblind"), func(tx querier) error {
		switch l, err := listOf(ctx, tx, u.ListID); {
		case err != nil:
			return err
		case l.Opened != nil:
			return study.ErrListClosed
		}
		_, err := inserted(ctx, tx, ofUnblinding, u.Stamp, "INSERT INTO unblinding (list_id, why, reader, at, version) VALUES (?, ?, ?, ?, ?)",
			u.ListID, u.Why, u.Reader, formatTime(u.At), u.Version)
		return err
	})
}
