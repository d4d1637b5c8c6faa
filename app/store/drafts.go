package store

import (
	"context"

	"linerwatch/app/study"
)

// SaveDraft implements study.Store.
func (s *Tables) SaveDraft(ctx context.Context, d study.Draft) error {
	return s.commit(ctx, named("store.keep-outlines", "Film", short(d.FilmID)), func(tx querier) error { return saveDraft(ctx, tx, d) })
}

func saveDraft(ctx context.Context, tx querier, d study.Draft) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO draft (hip_id, film_id, kind, at, version, outlines) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (hip_id, film_id, kind) DO UPDATE SET at = excluded.at, version = excluded.version, outlines = excluded.outlines`,
		d.HipID, d.FilmID, string(d.Kind), formatTime(d.At), d.Version, string(d.Outlines))
	return err
}

// DropDraft implements study.Store.
func (s *Tables) DropDraft(ctx context.Context, hipID, filmID string, kind study.DraftKind) error {
	return s.commit(ctx, named("store.drop-outlines", "Film", short(filmID)), func(tx querier) error { return dropDraft(ctx, tx, hipID, filmID, kind) })
}

func dropDraft(ctx context.Context, tx querier, hipID, filmID string, kind study.DraftKind) error {
	_, err := tx.ExecContext(ctx, "DELETE FROM draft WHERE hip_id = ? AND film_id = ? AND kind = ?", hipID, filmID, string(kind))
	return err
}

// Drafts implements study.Store.
func (s *Tables) Drafts(ctx context.Context, hipID string) ([]study.Draft, error) {
	list, err := collect(ctx, s.main(), "SELECT "+draftColumns+" FROM draft WHERE hip_id = ? ORDER BY at, film_id, kind", []any{hipID}, scanDraft)
	if err != nil {
		return nil, s.fault(named("store.read-drafts", "Hip", short(hipID)), err)
	}
	return list, nil
}

const draftColumns = "hip_id, film_id, kind, at, version, outlines"

func scanDraft(scan scanner) (d study.Draft, err error) {
	var at, outlines string
	if err = scan(&d.HipID, &d.FilmID, &d.Kind, &at, &d.Version, &outlines); err != nil {
		return d, err
	}
	d.Outlines = []byte(outlines)
	d.At, err = parseTime(at)
	return d, err
}

// ListDraft implements study.Store.
func (s *Tables) ListDraft(ctx context.Context, listID string, place int) (study.ListDraft, bool, error) {
	list, err := collect(ctx, s.main(), "SELECT list_id, place, at, version, outlines FROM list_draft WHERE list_id = ? AND place = ?",
		[]any{listID, place}, func(scan scanner) (d study.ListDraft, err error) {
			var at, outlines string
			if err = scan(&d.ListID, &d.Place, &at, &d.Version, &outlines); err != nil {
				return d, err
			}
			d.Outlines = []byte(outlines)
			d.At, err = parseTime(at)
			return d, err
		})
	if err != nil {
		return study.ListDraft{}, false, s.fault(named("store.read-list-draft"), err)
	}
	if len(list) == 0 {
		return study.ListDraft{}, false, nil
	}
	return list[0], true, nil
}

// SaveListDraft implements study.Store.
func (s *Tables) SaveListDraft(ctx context.Context, d study.ListDraft) error {
	return s.commit(ctx, named("store.keep-list-draft"), func(tx querier) error {
		if _, err := listOf(ctx, tx, d.ListID); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `INSERT INTO list_draft (list_id, place, at, version, outlines) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT (list_id, place) DO UPDATE SET at = excluded.at, version = excluded.version, outlines = excluded.outlines`,
			d.ListID, d.Place, formatTime(d.At), d.Version, string(d.Outlines))
		return err
	})
}

// DropListDraft implements study.Store.
func (s *Tables) DropListDraft(ctx context.Context, listID string, place int) error {
	return s.commit(ctx, named("store.drop-list-draft"), func(tx querier) error {
		_, err := tx.ExecContext(ctx, "DELETE FROM list_draft WHERE list_id = ? AND place = ?", listID, place)
		return err
	})
}

// AddExclusion implements study.Store.
func (s *Tables) AddExclusion(ctx context.Context, e study.Exclusion) error {
	return s.commit(ctx, named("store.exclude", "Film", short(e.FilmID)), func(tx querier) error {
		if err := checkListExclusion(ctx, tx, e); err != nil {
			return err
		}
		_, err := inserted(ctx, tx, ofExclusion, study.Stamp{Reader: e.Reader, At: e.At, Version: e.Version},
			"INSERT INTO exclusion ("+exclusionColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
			e.HipID, e.FilmID, e.Code, e.Note, e.Reader, formatTime(e.At), e.Version, string(e.Scope), e.List, e.Place)
		return err
	})
}

const exclusionColumns = "hip_id, film_id, code, note, reader, at, version, scope, list_id, place"

func scanExclusion(scan scanner) (e study.Exclusion, err error) {
	var at string
	if err = scan(&e.HipID, &e.FilmID, &e.Code, &e.Note, &e.Reader, &at, &e.Version, &e.Scope, &e.List, &e.Place); err != nil {
		return e, err
	}
	e.At, err = parseTime(at)
	return e, err
}

// Exclusions implements study.Store.
func (s *Tables) Exclusions(ctx context.Context, hipID string) ([]study.Exclusion, error) {
	list, err := collect(ctx, s.main(), "SELECT "+exclusionColumns+" FROM exclusion WHERE hip_id = ? ORDER BY seq", []any{hipID}, scanExclusion)
	if err != nil {
		return nil, s.fault(named("store.read-exclusions", "Hip", short(hipID)), err)
	}
	return list, nil
}
