package store

import (
	"cmp"
	"context"
	"crypto/sha256"
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
func (s *Tables) Audit(ctx context.Context) (study.Audit, error) { return s.audit(ctx, 200) }

// audit is Audit with so many films, and readings with their edge points, in memory at once.
func (s *Tables) audit(ctx context.Context, page int) (study.Audit, error) {
	fault := func(err error) (study.Audit, error) { return study.Audit{}, s.fault(named("store.audit"), err) }
	tx, err := s.base.Begin(ctx)
	if err != nil {
		return fault(err)
	}
	a := auditor{base: s.base, q: tx, page: page, last: map[string]map[string]told{}}
	for _, step := range []func(context.Context) error{a.sound, a.chain, a.end, a.hips, a.films, a.rows, a.readings, a.strangers} {
		if err = errors.Join(step(ctx), a.settle(ctx)); err != nil {
			break
		}
	}
	if err = errors.Join(err, tx.Rollback()); err != nil {
		return fault(err)
	}
	return a.found, nil
}

// auditor looks through one state of a study. It keeps in memory a few bytes of each thing,
// and a page of what is in the tables.
type auditor struct {
	base   Base
	q      querier
	page   int // of things that are read at once
	found  study.Audit
	at     study.Chain
	most   int64                      // the highest number that a row of the trail ever had, as far as it is known
	last   map[string]map[string]told // of each thing, by what it is and its ID; those left are in no table
	unlike []unlike                   // to be looked at more closely
}

// told is what the trail says last of a thing.
type told struct {
	seq    int64
	is     [sha256.Size]byte // of what it is since
	gone   bool              // it is nothing
	before bool              // it was there before the trail
}

func toldBy(c study.TrailRow) told {
	return told{c.Seq, sha256.Sum256([]byte(c.New)), c.New == "", c.Why == beforeTrail}
}

// unlike is a thing that is not to the letter what a row of the trail says.
type unlike struct {
	seq  int64
	code string                          // of what is wrong, unless it is the same all the same
	same func(text string) (bool, error) // as the text of the trail; nil where there is none
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

// chain follows the trail, and keeps what it says last of each thing.
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
			a.last[c.What] = map[string]told{}
		}
		if old, twice := a.last[c.What][c.ID]; twice && c.Why != beforeTrail && old.is != sha256.Sum256([]byte(c.Old)) {
			a.broken(c, "audit.jump", "What", c.What, "ID", c.ID)
		}
		a.last[c.What][c.ID] = toldBy(c)
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

// now compares what is kept of a thing with what the trail says last of it. The text is what
// the trail would say of it now, empty where that cannot be told; of one that is another, same
// says whether it comes to the same.
func (a *auditor) now(what, id, text string, same func(text string) (bool, error)) {
	c, known := a.last[what][id]
	delete(a.last[what], id)
	switch {
	case !known:
		a.broken(study.TrailRow{What: what, ID: id}, "audit.untold", "What", what, "ID", id)
	case c.gone && !c.before:
		a.unlike = append(a.unlike, unlike{c.seq, "audit.dropped", nil})
	case text == "" || c.is != sha256.Sum256([]byte(text)):
		a.unlike = append(a.unlike, unlike{c.seq, "audit.changed", same})
	}
}

// settle reads the rows of the trail that things differ from. While other rows are read a
// connection may have no time for it.
func (a *auditor) settle(ctx context.Context) error {
	for _, u := range a.unlike {
		c, err := trailRow(ctx, a.q, u.seq)
		if err != nil {
			return err
		}
		if u.same != nil {
			if same, err := u.same(c.New); err != nil || same {
				if err != nil {
					return err
				}
				continue
			}
		}
		a.broken(c, u.code, "What", c.What, "ID", c.ID)
	}
	a.unlike = a.unlike[:0]
	return nil
}

// thing is now of a hip or film.
func thing[T any](a *auditor, what, id string, v T) error {
	text, err := encode(v)
	if err != nil {
		return err
	}
	a.now(what, id, text[0], func(text string) (bool, error) {
		var was T
		return json.Unmarshal([]byte(text), &was) == nil && reflect.DeepEqual(was, v), nil
	})
	return nil
}

func (a *auditor) hips(ctx context.Context) error {
	list, err := hips(ctx, a.q, "")
	for i := 0; err == nil && i < len(list); i++ {
		h := list[i]
		h.Until = time.Time{} // the events have it
		err = thing(a, "hip", h.ID, h)
	}
	return err
}

func (a *auditor) films(ctx context.Context) error {
	for last := ""; ; {
		list, err := collect(ctx, a.q, "SELECT "+filmColumns+" FROM film WHERE id > ? ORDER BY id LIMIT ?", []any{last, a.page}, scanFilm)
		for i := 0; err == nil && i < len(list); i++ {
			last = list[i].ID
			err = thing(a, "film", last, list[i])
		}
		if err = errors.Join(err, a.settle(ctx)); err != nil || len(list) < a.page {
			return err
		}
	}
}

// rows compares the rows of the tables that the trail holds whole. A row may have columns
// that it had not when it was told.
func (a *auditor) rows(ctx context.Context) error {
	for _, k := range allTracked() {
		err := k.each(ctx, a.q, func(r trackedRow) {
			a.now(k.what, r.id, r.json, func(text string) (bool, error) { return holds(r.json, text), nil })
		}, "")
		if err != nil {
			return err
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

// strangers are things that the trail says are there and that no table holds, but for what
// the trail alone tells.
func (a *auditor) strangers(ctx context.Context) error {
	var gone []int64
	for what, things := range a.last {
		for _, c := range things {
			if !c.gone && what != "study" && what != study.DisclosureRow {
				gone = append(gone, c.seq)
			}
		}
	}
	slices.Sort(gone)
	for _, seq := range gone {
		c, err := trailRow(ctx, a.q, seq)
		if err != nil {
			return err
		}
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
