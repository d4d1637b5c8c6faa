package central

import (
	"context"
	"errors"
	"fmt"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

// copyStudy makes a study of another, each a study file or one on a server, with all that
// the other holds at one moment.
func copyStudy(ctx context.Context, from, to string) (err error) {
	if IsAddress(from) {
		s, err := Look(ctx, from)
		if err != nil {
			return err
		}
		return errors.Join(s.copyTo(ctx, to), s.Close())
	}
	if !IsAddress(to) {
		return store.CopyTo(ctx, from, func(m store.Querier) error { return store.CreateOf(ctx, to, m) })
	}
	return store.CopyTo(ctx, from, func(m store.Querier) error { return createOf(ctx, to, m) })
}

func (s *DB) copyTo(ctx context.Context, to string) error {
	if !IsAddress(to) {
		return s.SaveAs(ctx, to)
	}
	m, err := s.Begin(ctx)
	if err != nil {
		return s.Fault(named("store.read-study"), err)
	}
	return errors.Join(createOf(ctx, to, m), m.Rollback())
}

// rewind is store.Rewind of a study on a server.
func rewind(ctx context.Context, name, out string, to study.Then) (last study.TrailRow, err error) {
	err = at(ctx, name, func(m store.Querier) error {
		last, err = store.RewindOf(ctx, m, out, to)
		return err
	})
	return last, err
}

// merge is store.Merge of studies of which any may be on a server.
func merge(ctx context.Context, first, other, out string, sites [2]string, by study.Stamp) (m study.Merged, err error) {
	err = either(ctx, first, func(a store.Querier) error {
		return either(ctx, other, func(b store.Querier) error {
			m, err = store.MergeOf(ctx, a, b, out, sites, by)
			return err
		})
	})
	if err != nil {
		return study.Merged{}, err
	}
	return m, nil
}

// either hands a study to use as it is at one moment.
func either(ctx context.Context, name string, use func(m store.Querier) error) error {
	if IsAddress(name) {
		return at(ctx, name, use)
	}
	return store.CopyTo(ctx, name, use)
}

// at hands a study on a server to use as it is at one moment.
func at(ctx context.Context, name string, use func(m store.Querier) error) error {
	s, err := Look(ctx, name)
	if err != nil {
		return err
	}
	m, err := s.Begin(ctx)
	if err != nil {
		return errors.Join(s.Fault(named("store.read-study"), err), s.Close())
	}
	return errors.Join(use(m), m.Rollback(), s.Close())
}

// createOf makes a study on a server of what another holds. Where that fails there is none.
func createOf(ctx context.Context, name string, from store.Querier) (err error) {
	s, err := open(ctx, name, func(s *DB, ctx context.Context) error { return s.migrate(ctx, true, from) })
	if err != nil {
		return err
	}
	return s.Close()
}

// take copies the rows of another study, but for those of tables that are made later, and has
// new rows numbered after them.
func take(ctx context.Context, from, tx store.Querier) error {
	if err := store.CopyRows(ctx, from, tx, laterTables()...); err != nil {
		return err
	}
	for _, table := range []string{"reading", "withdrawal", "exclusion", "grade", "event", "reading_list", "unblinding"} {
		last := fmt.Sprintf("SELECT setval(pg_get_serial_sequence('linerwatch.%[1]s', 'seq'), coalesce(max(seq), 0) + 1, false) FROM %[1]s", table)
		if _, err := tx.ExecContext(ctx, last); err != nil {
			return err
		}
	}
	return nil
}

// laterTables are those that there are since a form after that of the queue.
func laterTables() []string { return []string{"list_draft"} }

// takeLater copies the rows of those tables.
func takeLater(ctx context.Context, from, tx store.Querier) error {
	return store.CopyOnly(ctx, from, tx, laterTables()...)
}
