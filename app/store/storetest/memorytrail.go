package storetest

import (
	"context"
	"encoding/json"
	"fmt"

	"linerwatch/app/study"
)

// trace adds a row to the trail; nil is what is not there.
func (m *Memory) trace(what, id string, old, now any, by study.Stamp) {
	row := study.TrailRow{Seq: int64(len(m.trail) + 1), Stamp: by, What: what, ID: id, Old: text(old), New: text(now)}
	if row.Old == row.New {
		return
	}
	before := ""
	if n := len(m.trail); n > 0 {
		before = m.trail[n-1].Hash
	}
	row.Hash = row.Sum(before)
	m.trail = append(m.trail, row)
}

// text writes v as JSON, empty for nothing.
func text(v any) string {
	if v == nil {
		return ""
	}
	b, err := json.Marshal(v)
	if err != nil {
		panic(err) // of a test's own
	}
	return string(b)
}

// orNil returns nothing for what was not there.
func orNil[T any](v T, is bool) any {
	if is {
		return v
	}
	return nil
}

// Trail implements study.Store.
func (m *Memory) Trail(ctx context.Context, each func(study.TrailRow) error) error {
	list, err := get(ctx, m, func() []study.TrailRow { return m.trail[:len(m.trail):len(m.trail)] })
	if err != nil {
		return err
	}
	for _, row := range list {
		if err := each(row); err != nil {
			return err
		}
	}
	return nil
}

// TrailEnd implements study.Store.
func (m *Memory) TrailEnd(ctx context.Context) (seq int64, hash string, err error) {
	err = m.Trail(ctx, func(row study.TrailRow) error { seq, hash = row.Seq, row.Hash; return nil })
	return seq, hash, err
}

// Disclosures implements study.Store.
func (m *Memory) Disclosures(ctx context.Context) (out []study.Disclosure, err error) {
	err = m.Trail(ctx, func(row study.TrailRow) error {
		if row.What == study.DisclosureRow {
			out = append(out, study.DisclosureOf(row))
		}
		return nil
	})
	return out, err
}

// AddDisclosure implements study.Store.
func (m *Memory) AddDisclosure(ctx context.Context, d study.Disclosure) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	n := len(where(m.trail, func(r study.TrailRow) bool { return r.What == study.DisclosureRow }))
	m.trace(study.DisclosureRow, fmt.Sprint("D", n+1), nil, d, d.Stamp)
	return nil
}

// Audit implements study.Store.
func (m *Memory) Audit(ctx context.Context) (a study.Audit, err error) {
	var chain study.Chain
	err = m.Trail(ctx, func(row study.TrailRow) error {
		if why := chain.Next(row); !why.IsZero() {
			a.Broken = append(a.Broken, study.Break{TrailRow: row, Why: why})
		}
		return nil
	})
	a.Changes, a.End, a.Readings = chain.End().Seq, chain.End().Hash, len(m.readings)
	return a, err
}
