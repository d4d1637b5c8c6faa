package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"

	"linerwatch/app/study"
)

// The columns of a reading that move as they are, and the JSON texts of its outlines.
const oldReadingQuery = `SELECT r.seq, r.id, f.hip_id, j.id, r.sha256, r.reader, r.at, r.version, r.supersedes, r.status, r.reason,
	r.side, r.cup_kind, r.head_mm, json_object('Reading', json(r.result), 'Warnings', json(r.warnings), 'Line', json(r.line),
	'How', json(r.method), 'Beam', json(r.beam), 'NoRim', coalesce(json_extract(r.rim, '$.Why'), '')),
	r.head, r.cup, r.corrected, r.rim
	FROM old_reading r JOIN old_film f ON f.id = r.film_id JOIN joined j ON j.old = r.film_id WHERE r.seq = ?`

// oldReading is a reading as files before migration 7 keep it, with its edge points among
// the outlines.
type oldReading struct {
	as    [15]any   // columns that move as they are
	texts [4]string // outlines of head and cup, those corrected for the beam, the rim

	head, cup int // points that were fitted
	kept      keptOutlines
	done      chan error // once head, cup and kept are known
}

func (o *oldReading) fields() (to []any) {
	for i := range o.as {
		to = append(to, &o.as[i])
	}
	for i := range o.texts {
		to = append(to, &o.texts[i])
	}
	return to
}

// pack brings the outlines to the form in which they are kept now.
func (o *oldReading) pack() (err error) {
	var r study.Reading
	for i, to := range []any{&r.Head, &r.Cup, &r.Corrected, &r.Rim} {
		if err := decode(o.texts[i], to); err != nil {
			return err
		}
	}
	o.head, o.cup = len(r.Head.Points), len(r.Cup.Points)
	o.kept, err = outlinesOf(r)
	return err
}

// readingMover reads and writes one reading after the other, while others are packed.
type readingMover struct{ from, into, edges *sql.Stmt }

func (m *mover) readingMover(ctx context.Context) (p readingMover, err error) {
	for _, s := range []struct {
		to   **sql.Stmt
		text string
	}{
		{&p.from, oldReadingQuery},
		{&p.into, `INSERT INTO reading (seq, id, hip_id, film_id, sha256, reader, at, version, supersedes, status, reason, side,
			cup_kind, head_mm, result, head, cup, head_points, cup_points, rim)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`},
		{&p.edges, "INSERT INTO edges (reading, head, cup) VALUES (?, ?, ?)"},
	} {
		if *s.to, err = m.tx.PrepareContext(ctx, s.text); err != nil {
			return p, errors.Join(err, p.close())
		}
	}
	return p, nil
}

func (p readingMover) close() error {
	var errs []error
	for _, s := range []*sql.Stmt{p.from, p.into, p.edges} {
		if s != nil {
			errs = append(errs, s.Close())
		}
	}
	return errors.Join(errs...)
}

// moveReadings moves readings in their order. One connection reads and writes them, one
// at a time, since with their edge points they are large; what takes longest, to read and
// pack those, is done on every processor meanwhile.
func (m *mover) moveReadings(ctx context.Context) (err error) {
	list, err := collect(ctx, m.tx, "SELECT seq FROM old_reading ORDER BY seq", nil, func(scan scanner) (seq int64, err error) {
		return seq, scan(&seq)
	})
	if err != nil {
		return err
	}
	p, err := m.readingMover(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, p.close()) }()
	line := make([]*oldReading, 0, len(list))
	for i := range len(list) + runtime.NumCPU() {
		if i < len(list) {
			o, err := p.read(ctx, list[i])
			if err != nil {
				return wrapped(err, "store.reading", "Reading", fmt.Sprint(list[i]))
			}
			line = append(line, o)
		}
		k := i - runtime.NumCPU()
		if k < 0 || k >= len(line) {
			continue
		}
		if err := p.write(ctx, line[k]); err != nil {
			return wrapped(err, "store.reading", "Reading", fmt.Sprint(list[k]))
		}
		line[k] = nil
		m.told(k+1, len(list))
	}
	return nil
}

// read reads a reading and begins to pack it.
func (p readingMover) read(ctx context.Context, seq int64) (*oldReading, error) {
	o := &oldReading{done: make(chan error, 1)}
	if err := p.from.QueryRowContext(ctx, seq).Scan(o.fields()...); err != nil {
		return nil, err
	}
	go func() { o.done <- o.pack() }()
	return o, nil
}

// write writes a reading once it is packed.
func (p readingMover) write(ctx context.Context, o *oldReading) error {
	if err := <-o.done; err != nil {
		return err
	}
	if _, err := p.into.ExecContext(ctx, append(o.as[:], o.kept.head, o.kept.cup, o.head, o.cup, o.kept.rim)...); err != nil {
		return err
	}
	_, err := p.edges.ExecContext(ctx, o.as[0], o.kept.headEdges, o.kept.cupEdges)
	return err
}
