package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"slices"
	"time"

	"linerwatch/app/study"
)

// Audit implements study.Store: the trail's chain, what it says against what the study
// holds, the database itself, and the triggers that keep rows from being changed.
func (s *Tables) Audit(ctx context.Context) (study.Audit, error) {
	fault := func(err error) (study.Audit, error) { return study.Audit{}, s.fault(named("store.audit"), err) }
	tx, err := s.base.Begin(ctx)
	if err != nil {
		return fault(err)
	}
	a := auditor{base: s.base, q: tx, last: map[string]map[string]study.TrailRow{}}
	for _, step := range []func(context.Context) error{a.sound, a.chain, a.end, a.hips, a.films, a.rows, a.readings, a.strangers} {
		if err = step(ctx); err != nil {
			break
		}
	}
	if err = errors.Join(err, tx.Rollback()); err != nil {
		return fault(err)
	}
	return a.found, nil
}

// auditor looks through one state of a study.
type auditor struct {
	base  Base
	q     querier
	found study.Audit
	at    study.Chain
	most  int64                                // the highest number that a row of the trail ever had, as far as it is known
	last  map[string]map[string]study.TrailRow // of each thing, by what it is and its ID; those left are in no table
}

func (a *auditor) broken(c study.TrailRow, code string, values ...any) {
	a.found.Broken = append(a.found.Broken, study.Break{TrailRow: c, Why: named(code, values...)})
}

// sound has the database looked through.
func (a *auditor) sound(ctx context.Context) error {
	wrong, most, err := a.base.Sound(ctx, a.q)
	a.most = most
	for _, why := range wrong {
		a.found.Broken = append(a.found.Broken, study.Break{Why: why})
	}
	return err
}

// chain follows the trail, and keeps the last row of each thing.
func (a *auditor) chain(ctx context.Context) error {
	return trail(ctx, a.q, func(c study.TrailRow) error {
		before := a.at.End()
		if why := a.at.Next(c); !why.IsZero() {
			a.found.Broken = append(a.found.Broken, study.Break{TrailRow: c, Why: why})
		}
		if !c.At.IsZero() && c.At.Before(before.At) && c.Why != beforeTrail {
			a.found.Back = append(a.found.Back, c)
		}
		if a.last[c.What] == nil {
			a.last[c.What] = map[string]study.TrailRow{}
		}
		if old, twice := a.last[c.What][c.ID]; twice && c.Why != beforeTrail && old.New != c.Old {
			a.broken(c, "audit.jump", "What", c.What, "ID", c.ID)
		}
		a.last[c.What][c.ID] = c
		return nil
	})
}

// end compares the end of the trail with what is kept apart of it.
func (a *auditor) end(ctx context.Context) error {
	last := a.at.End()
	a.found.Changes, a.found.End = last.Seq, last.Hash
	var kept study.TrailRow
	err := a.q.QueryRowContext(ctx, "SELECT seq, hash FROM trail_end").Scan(&kept.Seq, &kept.Hash)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	switch most := max(kept.Seq, a.most); {
	case last.Seq < most:
		a.broken(last, "audit.cut", "From", float64(last.Seq+1), "To", float64(most))
	case kept.Seq != last.Seq || kept.Hash != last.Hash:
		a.broken(last, "audit.end")
	}
	return nil
}

// now compares what is kept of a thing with what the trail says last of it; same says
// whether the text of the trail is that.
func (a *auditor) now(what, id string, same func(text string) bool) {
	c, known := a.last[what][id]
	switch {
	case !known:
		a.broken(study.TrailRow{What: what, ID: id}, "audit.untold", "What", what, "ID", id)
	case c.New == "" && c.Why != beforeTrail:
		a.broken(c, "audit.dropped", "What", what, "ID", id)
	case !same(c.New):
		a.broken(c, "audit.changed", "What", what, "ID", id)
	}
	delete(a.last[what], id)
}

// as reports whether a text is the JSON of v.
func as[T any](v T) func(text string) bool {
	return func(text string) bool {
		var was T
		return json.Unmarshal([]byte(text), &was) == nil && reflect.DeepEqual(was, v)
	}
}

func (a *auditor) hips(ctx context.Context) error {
	list, err := hips(ctx, a.q, "")
	for _, h := range list {
		h.Until = time.Time{} // the events have it
		a.now("hip", h.ID, as(h))
	}
	return err
}

func (a *auditor) films(ctx context.Context) error {
	list, err := films(ctx, a.q, "")
	for _, f := range list {
		a.now("film", f.ID, as(f))
	}
	return err
}

// rows compares the rows of the tables that the trail holds whole. A row may have columns
// that it had not when it was told.
func (a *auditor) rows(ctx context.Context) error {
	for _, k := range allTracked() {
		list, err := k.rows(ctx, a.q, "")
		if err != nil {
			return err
		}
		for _, r := range list {
			a.now(k.what, r.id, func(text string) bool { return text == r.json || holds(r.json, text) })
		}
	}
	return nil
}

// holds reports whether a row has all that a text says of it.
func holds(row, text string) bool {
	var have, says map[string]any
	if json.Unmarshal([]byte(row), &have) != nil || json.Unmarshal([]byte(text), &says) != nil {
		return false
	}
	for name, v := range says {
		if o, ok := have[name]; !ok || o != v {
			return false
		}
	}
	return true
}

func (a *auditor) readings(ctx context.Context) error {
	ids, err := collect(ctx, a.q, "SELECT id FROM reading ORDER BY seq", nil, func(scan scanner) (id string, err error) { err = scan(&id); return id, err })
	if err != nil {
		return err
	}
	a.found.Readings = len(ids)
	for _, id := range ids {
		var failed error
		a.now("reading", id, func(text string) bool {
			var k readingTrail
			if json.Unmarshal([]byte(text), &k) != nil || k.Columns == 0 {
				return false
			}
			var digest string
			_, digest, failed = readingDigest(ctx, a.q, id, k.Columns)
			return digest == k.Digest
		})
		if failed != nil {
			return failed
		}
	}
	return nil
}

// strangers are things that the trail says are there and that no table holds, but for what
// the trail alone tells.
func (a *auditor) strangers(context.Context) error {
	var gone []study.TrailRow
	for _, things := range a.last {
		for _, c := range things {
			if c.New != "" && c.What != "study" && c.What != study.DisclosureRow {
				gone = append(gone, c)
			}
		}
	}
	slices.SortFunc(gone, func(x, y study.TrailRow) int { return int(x.Seq - y.Seq) })
	for _, c := range gone {
		a.broken(c, "audit.missing", "What", c.What, "ID", c.ID)
	}
	slices.SortStableFunc(a.found.Broken, func(x, y study.Break) int { return cmp.Compare(turn(x), turn(y)) })
	return nil
}

// turn is where a break is told: what is wrong of the file first, then in the order of the
// trail, and what is in no row of it last.
func turn(b study.Break) int64 {
	if b.Seq == 0 && b.What != "" {
		return math.MaxInt64
	}
	return b.Seq
}
