package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"linerwatch/app/study"
)

// Salvage writes what can still be read of the damaged study at path to a new one at out,
// of the same form: row by row, past those that cannot be read; rows of which the audit
// trail holds all are taken from there. The damaged file is not changed. What a row that
// was read says is not looked at: Audit of the new study does that.
func Salvage(ctx context.Context, path, out string, by study.Stamp) (done study.Salvaged, err error) {
	fault := func(err error) (study.Salvaged, error) {
		if errors.Is(plain(err), study.ErrDamaged) {
			err = &study.NoteError{Note: named("store.salvaged-none", "Backup", newestBackup(path)), Err: study.ErrDamaged}
		}
		return study.Salvaged{}, wrapped(plain(err), "store.refused", "File", filepath.Base(path))
	}
	if err := checkFile(path); err != nil {
		return fault(err)
	}
	s := &DB{path: path, readOnly: true}
	if s.file, err = held.hold(path); err != nil {
		return fault(err)
	}
	defer func() { err = errors.Join(err, s.disconnect(), s.dropCopy()) }()
	if s.copy, err = copyWithLog(s.file, path); err != nil {
		return fault(err)
	}
	if err := lengthen(s.copy); err != nil {
		return fault(err)
	}
	if s.db, err = s.connect(); err != nil {
		return fault(err)
	}
	if done.Version, err = studyVersion(ctx, s.db, len(migrations())); err != nil {
		return fault(err)
	}
	err = place(out, func(part string) error { return salvageTo(ctx, s.db, part, &done, by) })
	if err != nil {
		return fault(err)
	}
	return done, nil
}

// lengthen makes a file that was cut off as long as it says that it is ("The Database
// Header" of SQLite's "Database File Format": size of a page at offset 16, their number at 28,
// big-endian): SQLite reads nothing of a shorter one.
func lengthen(path string) (err error) {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	var head [32]byte
	if _, err := f.ReadAt(head[:], 0); err != nil || !bytes.HasPrefix(head[:], []byte(magic)) {
		return study.ErrNotStudy
	}
	page := int64(binary.BigEndian.Uint16(head[16:]))
	if page == 1 {
		page = 65536
	}
	info, err := f.Stat()
	if err != nil {
		return err
	}
	// Of a number that is damaged itself no file of its size is made.
	size := page * int64(binary.BigEndian.Uint32(head[28:]))
	if size <= info.Size() || size > 100*info.Size() {
		return nil
	}
	return f.Truncate(size)
}

func salvageTo(ctx context.Context, from *sql.DB, part string, done *study.Salvaged, by study.Stamp) (err error) {
	if err := makeEmpty(part); err != nil {
		return err
	}
	into, err := connect(part)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, into.Close()) }()
	if err := migrate(ctx, into, migrations()[:done.Version], nil); err != nil {
		return err
	}
	if _, err := into.ExecContext(ctx, "PRAGMA foreign_keys = 0"); err != nil {
		return err
	}
	tx, err := into.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	v := salvager{from: from, into: tx, count: map[string]*study.SalvagedKind{}}
	if err := v.run(ctx, done.Version, by); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	for _, table := range v.tables {
		done.Kinds = append(done.Kinds, *v.count[table])
	}
	return tx.Commit()
}

type salvager struct {
	from   *sql.DB
	into   *sql.Tx
	tables []string
	count  map[string]*study.SalvagedKind
}

// trailForm is the first form of a study that has an audit trail.
const trailForm = 10

func (v *salvager) run(ctx context.Context, version int, by study.Stamp) error {
	guards, err := v.openGuards(ctx)
	if err != nil {
		return err
	}
	if v.tables, err = v.names(ctx, "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\' ORDER BY rowid"); err != nil {
		return err
	}
	for _, table := range v.tables {
		v.count[table] = &study.SalvagedKind{Name: table}
		if err := v.table(ctx, table); err != nil {
			return err
		}
	}
	if version >= trailForm {
		if err := v.fromTrail(ctx); err != nil {
			return err
		}
	}
	if err := v.dropOrphans(ctx); err != nil {
		return err
	}
	if version >= trailForm {
		if err := v.note(ctx, by); err != nil {
			return err
		}
	}
	for _, text := range guards {
		if _, err := v.into.ExecContext(ctx, text); err != nil {
			return err
		}
	}
	return nil
}

func (v *salvager) names(ctx context.Context, query string) ([]string, error) {
	return collect(ctx, v.into, query, nil, func(scan scanner) (name string, err error) { err = scan(&name); return name, err })
}

// openGuards drops the triggers, which would refuse rows whose like was lost, and returns
// what makes them again.
func (v *salvager) openGuards(ctx context.Context) ([]string, error) {
	texts, err := v.names(ctx, "SELECT sql FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		return nil, err
	}
	list, err := v.names(ctx, "SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	for _, name := range list {
		if _, err := v.into.ExecContext(ctx, "DROP TRIGGER "+name); err != nil {
			return nil, err
		}
	}
	return texts, err
}

// together is how many rows are read at once, as long as they can be read.
const together = 200

// farOff is how many numbers of rows are tried after the last that is known, where the highest
// cannot be read.
const farOff = 10000

// table copies the rows of a table.
func (v *salvager) table(ctx context.Context, table string) error {
	if table == "value" { // has no numbers of rows
		return v.stream(ctx, table)
	}
	last, known := v.highest(ctx, table)
	for at := int64(0); !known || at < last; {
		n, to, err := v.copy(ctx, table, fmt.Sprintf("WHERE rowid > %d ORDER BY rowid LIMIT %d", at, together))
		if err := ctx.Err(); err != nil {
			return err
		}
		if to > at {
			at = to
		}
		switch {
		case err == nil && n < together:
			return nil
		case err == nil:
			continue
		}
		// The next row that can be read is looked for number by number.
		most := last
		if !known {
			most = at + farOff
		}
		found, failed := false, 0
		for at++; at <= most && !found; at++ {
			n, _, err := v.copy(ctx, table, fmt.Sprintf("WHERE rowid = %d", at))
			if found = n > 0; err != nil {
				failed++
			}
		}
		at--
		if found || known {
			v.count[table].Lost += failed
		}
		if !found {
			v.count[table].Unsure = v.count[table].Unsure || !known
			return ctx.Err()
		}
	}
	return nil
}

// highest returns the highest number of a row, and whether it is known.
func (v *salvager) highest(ctx context.Context, table string) (last int64, known bool) {
	var a, b sql.NullInt64
	errA := v.from.QueryRowContext(ctx, "SELECT max(rowid) FROM "+table).Scan(&a)
	errB := v.from.QueryRowContext(ctx, "SELECT seq FROM sqlite_sequence WHERE name = ?", table).Scan(&b)
	return max(a.Int64, b.Int64), errA == nil || errB == nil && b.Valid
}

// stream copies rows up to the first that cannot be read.
func (v *salvager) stream(ctx context.Context, table string) error {
	if _, _, err := v.copy(ctx, table, ""); err != nil {
		v.count[table].Unsure = true
	}
	return ctx.Err()
}

// copy copies the rows that where leaves, up to the first that cannot be read. It returns
// how many there were, and the number of the last.
func (v *salvager) copy(ctx context.Context, table, where string) (n int, last int64, err error) {
	number := "rowid"
	if table == "value" {
		number = "0"
	}
	rows, err := v.from.QueryContext(ctx, "SELECT "+number+", * FROM "+table+" "+where)
	if err != nil {
		return 0, 0, err
	}
	defer rows.Close() // the error of Err is the one to tell
	names, err := rows.Columns()
	if err != nil {
		return 0, 0, err
	}
	for rows.Next() {
		values, to := make([]any, len(names)), make([]any, len(names))
		for i := range values {
			to[i] = &values[i]
		}
		if err := rows.Scan(to...); err != nil {
			return n, last, err
		}
		last, _ = values[0].(int64)
		for i, value := range values {
			if b, is := value.([]byte); is && len(b) == 0 {
				values[i] = []byte{} // no bytes, but not none
			}
		}
		n++
		if err := v.put(ctx, table, names[1:], values[1:]); err != nil {
			v.count[table].Lost++ // what was read is no row of this table
			continue
		}
		v.count[table].Read++
	}
	return n, last, rows.Err()
}

func (v *salvager) put(ctx context.Context, table string, names []string, values []any) error {
	_, err := v.into.ExecContext(ctx, "INSERT INTO "+table+" ("+strings.Join(names, ", ")+") VALUES (?"+strings.Repeat(", ?", len(names)-1)+")", values...)
	return err
}

// note ends the trail with what was done, after the number of rows that it ever had.
func (v *salvager) note(ctx context.Context, by study.Stamp) error {
	if _, err := v.into.ExecContext(ctx, `INSERT INTO trail_end (one, seq, hash) SELECT 1, seq, hash FROM trail WHERE true ORDER BY seq DESC LIMIT 1
		ON CONFLICT (one) DO NOTHING`); err != nil {
		return err
	}
	var kinds []study.SalvagedKind
	for _, table := range v.tables {
		kinds = append(kinds, *v.count[table])
	}
	return addChange(ctx, v.into, "study", "salvaged", nil, kinds, by)
}
