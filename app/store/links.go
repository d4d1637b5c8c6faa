package store

import (
	"context"

	"linerwatch/app/study"
)

func scanLink(scan scanner) (l study.Link, err error) {
	err = scan(&l.HipID, &l.FilmID, &l.Searched, noteText{&l.Reason})
	return l, err
}

// Links implements study.Store.
func (s *Tables) Links(ctx context.Context, hipID string) ([]study.Link, error) {
	fault := func(err error) ([]study.Link, error) {
		return nil, s.fault(named("store.read-films", "Hip", short(hipID)), err)
	}
	list, err := collect(ctx, s.main(), "SELECT hip_id, film_id, searched, reason FROM link WHERE hip_id = ?", []any{hipID}, scanLink)
	if err != nil {
		return fault(err)
	}
	order, err := films(ctx, s.main(), ofHip, hipID)
	if err != nil {
		return fault(err)
	}
	return linksOf(order, list), nil
}

// linksOf returns the link of each film.
func linksOf(films []study.Film, links []study.Link) []study.Link {
	byFilm := map[string]study.Link{}
	for _, l := range links {
		byFilm[l.FilmID] = l
	}
	var out []study.Link
	for _, f := range films {
		if l, ok := byFilm[f.ID]; ok {
			out = append(out, l)
		}
	}
	return out
}

// HipsOf implements study.Store.
func (s *Tables) HipsOf(ctx context.Context, filmID string) ([]string, error) {
	list, err := collect(ctx, s.main(), "SELECT hip_id FROM link WHERE film_id = ? ORDER BY hip_id", []any{filmID},
		func(scan scanner) (id string, err error) { err = scan(&id); return id, err })
	if err != nil {
		return nil, s.fault(named("store.look"), err)
	}
	return list, nil
}

// SaveLink implements study.Store.
func (s *Tables) SaveLink(ctx context.Context, l study.Link, by study.Stamp) error {
	return s.commit(ctx, named("store.put-film", "Film", short(l.FilmID), "Hip", short(l.HipID)), func(tx querier) error {
		return saveLink(ctx, tx, l, by)
	})
}

func saveLink(ctx context.Context, tx querier, l study.Link, by study.Stamp) error {
	return tracedExec(ctx, tx, ofLink, by, "WHERE hip_id = ? AND film_id = ?", []any{l.HipID, l.FilmID},
		`INSERT INTO link (hip_id, film_id, searched, reason) VALUES (?, ?, ?, ?)
		ON CONFLICT (hip_id, film_id) DO UPDATE SET searched = excluded.searched, reason = excluded.reason`,
		l.HipID, l.FilmID, string(l.Searched), noteText{&l.Reason})
}

// DropLink implements study.Store.
func (s *Tables) DropLink(ctx context.Context, hipID, filmID string, by study.Stamp) error {
	return s.commit(ctx, named("store.take-film", "Film", short(filmID), "Hip", short(hipID)), func(tx querier) error {
		if err := restsOn(ctx, tx, "film_id = ? AND hip_id = ?", filmID, hipID); err != nil {
			return err
		}
		const those = "WHERE film_id = ? AND hip_id = ?"
		if _, err := tx.ExecContext(ctx, "DELETE FROM draft "+those, filmID, hipID); err != nil {
			return err
		}
		return tracedExec(ctx, tx, ofLink, by, those, []any{filmID, hipID}, "DELETE FROM link "+those, filmID, hipID)
	})
}

// restsOn returns study.ErrRests where a reading, an exclusion or a grade rests on what where
// says.
func restsOn(ctx context.Context, tx querier, where string, args ...any) error {
	for _, table := range []string{"reading", "exclusion", "grade"} {
		var there bool
		if err := tx.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM "+table+" WHERE "+where+")", args...).Scan(&there); err != nil {
			return err
		}
		if there {
			return study.ErrRests
		}
	}
	return nil
}
