package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"linerwatch/app/study"
)

// beforeTrail is why rows stand in the trail of what was there before it was begun.
const beforeTrail = "kept before there was a trail"

// beginTrail begins the audit trail of a study that had none with what it holds, and moves
// to it what hips and films were before they were changed.
func beginTrail(ctx context.Context, tx *sql.Tx, _ study.Progress) error {
	for _, step := range []func(context.Context, *sql.Tx) error{trailHips, trailFilms, trailRows, trailReadings} {
		if err := step(ctx, tx); err != nil {
			return err
		}
	}
	_, err := tx.ExecContext(ctx, "DROP TABLE hip_change; DROP TABLE film_change")
	return err
}

func trailHips(ctx context.Context, tx *sql.Tx) error {
	list, err := hips(ctx, tx, "")
	if err != nil {
		return err
	}
	for _, h := range list {
		if err := trailOld(ctx, tx, "hip", h.ID, h); err != nil {
			return err
		}
	}
	return trailGone(ctx, tx, "hip")
}

func trailFilms(ctx context.Context, tx *sql.Tx) error {
	list, err := films(ctx, tx, "")
	if err != nil {
		return err
	}
	for _, f := range list {
		if err := trailOld(ctx, tx, "film", f.ID, f); err != nil {
			return err
		}
	}
	return trailGone(ctx, tx, "film")
}

// trailOld adds the changes of one hip or film, which is now.
func trailOld(ctx context.Context, tx *sql.Tx, what, id string, now any) error {
	list, err := oldChanges(ctx, tx, what, id)
	if err != nil {
		return err
	}
	if len(list) == 0 {
		list = []study.TrailRow{{}}
	}
	text, err := encode(now)
	if err != nil {
		return err
	}
	for i, c := range list {
		c.What, c.ID, c.Why, c.New = what, id, beforeTrail, text[0]
		if i+1 < len(list) {
			c.New = list[i+1].Old
		}
		if err := addTrail(ctx, tx, c); err != nil {
			return err
		}
	}
	return nil
}

// oldChanges reads changes as files before the trail keep them: what was before, empty for
// what is new.
func oldChanges(ctx context.Context, tx *sql.Tx, what, id string) ([]study.TrailRow, error) {
	query := fmt.Sprintf("SELECT before, reader, at, version FROM %[1]s_change WHERE %[1]s_id = ? ORDER BY seq", what)
	return collect(ctx, tx, query, []any{id}, func(scan scanner) (c study.TrailRow, err error) {
		var at string
		if err = scan(&c.Old, &c.Reader, &at, &c.Version); err != nil {
			return c, err
		}
		if strings.Contains(c.Old, `"ID":""`) {
			c.Old = ""
		}
		c.At, err = parseTime(at)
		return c, err
	})
}

// trailGone adds the changes of hips or films that are no longer there, of which the last
// is not known.
func trailGone(ctx context.Context, tx *sql.Tx, what string) error {
	query := fmt.Sprintf("SELECT %[1]s_id FROM %[1]s_change WHERE %[1]s_id NOT IN (SELECT id FROM %[1]s) GROUP BY 1 ORDER BY min(seq)", what)
	ids, err := collect(ctx, tx, query, nil, func(scan scanner) (id string, err error) { err = scan(&id); return id, err })
	if err != nil {
		return err
	}
	for _, id := range ids {
		list, err := oldChanges(ctx, tx, what, id)
		if err != nil {
			return err
		}
		for i, c := range list {
			c.What, c.ID, c.Why = what, id, beforeTrail
			if i+1 < len(list) {
				c.New = list[i+1].Old
			}
			if err := addTrail(ctx, tx, c); err != nil {
				return err
			}
		}
	}
	return nil
}

// trailRows adds the rows of the tables that the trail holds whole.
func trailRows(ctx context.Context, tx *sql.Tx) error {
	// Not allTracked, which comes to hold tables of later forms.
	for _, k := range []tracked{ofSite, ofPatient, ofLink, ofSetting, ofVariable, ofValue, ofEvent, ofGrade, ofExclusion, ofWithdrawal} {
		list, err := k.rows(ctx, tx, "")
		if err != nil {
			return err
		}
		for _, r := range list {
			c := study.TrailRow{What: k.what, ID: r.id, New: r.json, Stamp: study.Stamp{Why: beforeTrail}}
			if k.stamp {
				if c.Stamp, err = stampOf(r.json); err != nil {
					return err
				}
			}
			if err := addTrail(ctx, tx, c); err != nil {
				return err
			}
		}
	}
	return nil
}

// stampOf reads who added a row, and when, from the row itself.
func stampOf(row string) (study.Stamp, error) {
	var says struct{ Reader, At, Version string }
	if err := json.Unmarshal([]byte(row), &says); err != nil {
		return study.Stamp{}, err
	}
	at, err := parseTime(says.At)
	return study.Stamp{Reader: says.Reader, At: at, Version: says.Version, Why: beforeTrail}, err
}

func trailReadings(ctx context.Context, tx *sql.Tx) error {
	list, err := collect(ctx, tx, `SELECT id, hip_id, film_id, reader, at, version, coalesce(supersedes, ''), status FROM reading ORDER BY seq`, nil,
		func(scan scanner) (r study.Reading, err error) {
			var at string
			if err = scan(&r.ID, &r.HipID, &r.FilmID, &r.Reader, &at, &r.Version, &r.Supersedes, &r.Status); err != nil {
				return r, err
			}
			r.At, err = parseTime(at)
			return r, err
		})
	if err != nil {
		return err
	}
	for _, r := range list {
		if err := traceReading(ctx, tx, r, beforeTrail); err != nil {
			return err
		}
	}
	return nil
}
