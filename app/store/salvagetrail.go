package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// fromTrail takes from the trail what the tables lack.
func (v *salvager) fromTrail(ctx context.Context) error {
	last := map[[2]string]study.TrailRow{}
	var order [][2]string
	err := trail(ctx, v.into, func(c study.TrailRow) error {
		key := [2]string{c.What, c.ID}
		if _, ok := last[key]; !ok {
			order = append(order, key)
		}
		last[key] = c
		return nil
	})
	if err != nil {
		return err
	}
	there := map[[2]string]bool{}
	for _, k := range slices.Concat(allTracked(), []tracked{{what: "hip", id: "id"}, {what: "film", id: "id"}, {what: "reading", id: "id"}}) {
		list, err := k.rows(ctx, v.into, "")
		if err != nil {
			return err
		}
		for _, r := range list {
			there[[2]string{k.what, r.id}] = true
		}
	}
	missing := map[string]int{}
	for _, key := range order {
		c := last[key]
		switch {
		case v.count[c.What] == nil || c.New == "" || there[key]:
		case putTold(ctx, v.into, c.What, c.New) == nil:
			v.count[c.What].Told++
		default:
			missing[c.What]++
		}
	}
	if t := v.count["trail"]; t.Lost > 0 || t.Unsure {
		return nil
	}
	for what, list := range v.count { // of these the trail says how many there were
		if what == "reading" || what == "hip" || what == "film" || isTracked(what) {
			list.Lost, list.Unsure = missing[what], false
		}
	}
	return nil
}

func isTracked(what string) bool {
	return slices.ContainsFunc(allTracked(), func(k tracked) bool { return k.what == what })
}

// dropOrphans drops the rows that belong to others that are lost; that a reading replaced
// one that is lost does not count as that.
func (v *salvager) dropOrphans(ctx context.Context) error {
	type orphan struct {
		table, parent string
		row           sql.NullInt64
		key           int
	}
	for {
		list, err := collect(ctx, v.into, "PRAGMA foreign_key_check", nil, func(scan scanner) (o orphan, err error) {
			err = scan(&o.table, &o.row, &o.parent, &o.key)
			return o, err
		})
		if err != nil {
			return err
		}
		dropped := 0
		for _, o := range list {
			if o.table == o.parent || !o.row.Valid {
				continue
			}
			gone, err := v.into.ExecContext(ctx, fmt.Sprintf("DELETE FROM %s WHERE rowid = %d", o.table, o.row.Int64))
			if err != nil {
				return err
			}
			n, err := gone.RowsAffected()
			if err != nil {
				return err
			}
			if n > 0 {
				dropped++
				v.count[o.table].Read = max(0, v.count[o.table].Read-1)
				v.count[o.table].Lost++
			}
		}
		if dropped == 0 {
			return v.bare(ctx)
		}
	}
}

// bare gives readings whose edge points are lost none: their numbers are worth keeping.
func (v *salvager) bare(ctx context.Context) error {
	if v.count["edges"] == nil {
		return nil
	}
	_, err := v.into.ExecContext(ctx, "INSERT INTO edges (reading, head, cup) SELECT seq, x'', x'' FROM reading WHERE seq NOT IN (SELECT reading FROM edges)")
	return err
}
