package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"linerwatch/app/study"
)

var _ interface {
	study.DraftStore
	study.ExclusionStore
} = (*DB)(nil)

// SaveDraft keeps d in place of an earlier draft of its film for the hip.
func (s *DB) SaveDraft(ctx context.Context, hipID string, d study.Draft) error {
	film, err := json.Marshal(d.Film)
	if err == nil {
		_, err = s.db.ExecContext(ctx, `INSERT INTO draft (hip_id, film_id, film, at, outlines) VALUES (?, ?, ?, ?, ?)
			ON CONFLICT (hip_id, film_id) DO UPDATE SET film = excluded.film, at = excluded.at, outlines = excluded.outlines`,
			hipID, d.Film.ID, string(film), d.At.UTC().Format(time.RFC3339Nano), string(d.Outlines))
	}
	if err != nil {
		return s.fault(fmt.Sprintf("keep the draft of film %q", d.Film.ID), err)
	}
	return nil
}

// DropDraft drops the draft of a film for the hip, where there is one.
func (s *DB) DropDraft(ctx context.Context, hipID, filmID string) error {
	if _, err := s.db.ExecContext(ctx, "DELETE FROM draft WHERE hip_id = ? AND film_id = ?", hipID, filmID); err != nil {
		return s.fault(fmt.Sprintf("drop the draft of film %q", filmID), err)
	}
	return nil
}

// Drafts returns the drafts of the hip, the newest last.
func (s *DB) Drafts(ctx context.Context, hipID string) ([]study.Draft, error) {
	list, err := collect(ctx, s, "SELECT film, at, outlines FROM draft WHERE hip_id = ? ORDER BY at, film_id", []any{hipID},
		func(scan scanner) (d study.Draft, err error) {
			var film, at, outlines string
			if err = scan(&film, &at, &outlines); err != nil {
				return d, err
			}
			if err = json.Unmarshal([]byte(film), &d.Film); err != nil {
				return d, err
			}
			d.Outlines = []byte(outlines)
			d.At, err = time.Parse(time.RFC3339Nano, at)
			return d, err
		})
	if err != nil {
		return nil, s.fault(fmt.Sprintf("read the drafts of hip %q", hipID), err)
	}
	return list, nil
}

// AddExclusion adds a decision about a saved film of a saved hip.
func (s *DB) AddExclusion(ctx context.Context, e study.Exclusion) error {
	_, err := s.db.ExecContext(ctx, `INSERT INTO exclusion (hip_id, film_id, code, note, reader, at, version)
		VALUES (?, ?, ?, ?, ?, ?, ?)`,
		e.HipID, e.FilmID, e.Code, e.Note, e.Reader, e.At.UTC().Format(time.RFC3339Nano), e.Version)
	if err != nil {
		return s.fault(fmt.Sprintf("leave out film %q", e.FilmID), err)
	}
	return nil
}

// Exclusions returns every decision about the hip's films, oldest first.
func (s *DB) Exclusions(ctx context.Context, hipID string) ([]study.Exclusion, error) {
	list, err := collect(ctx, s, `SELECT hip_id, film_id, code, note, reader, at, version FROM exclusion
		WHERE hip_id = ? ORDER BY seq`, []any{hipID},
		func(scan scanner) (e study.Exclusion, err error) {
			var at string
			if err = scan(&e.HipID, &e.FilmID, &e.Code, &e.Note, &e.Reader, &at, &e.Version); err != nil {
				return e, err
			}
			e.At, err = time.Parse(time.RFC3339Nano, at)
			return e, err
		})
	if err != nil {
		return nil, s.fault(fmt.Sprintf("read the exclusions of hip %q", hipID), err)
	}
	return list, nil
}
