package store

import (
	"context"
	"encoding/json"
	"fmt"

	"linerwatch/app/study"
)

const filmColumns = `film.id, film.hip_id, film.path, film.sha256, film.patient, film.date, film.side,
	film.width, film.height, film.spacing_mm, film.spacing_kind, film.view, film.source_mm, film.given`

// filmRow receives filmColumns.
type filmRow struct {
	study.Film
	date, side, given string
}

func (r *filmRow) fields() []any {
	f := &r.Film
	return []any{&f.ID, &f.HipID, &f.Path, &f.SHA256, &f.Patient, &r.date, &r.side,
		&f.Width, &f.Height, &f.SpacingMM, &f.SpacingKind, &f.View, &f.SourceMM, &r.given}
}

func (r *filmRow) film() (f study.Film, err error) {
	f = r.Film
	if f.Side, err = study.ParseSide(r.side); err != nil {
		return f, err
	}
	if err = decode(r.given, &f.Given); err != nil {
		return f, fmt.Errorf("film %q: given: %w", f.ID, err)
	}
	f.Date, err = parseDate(r.date)
	return f, err
}

// Films returns the hip's films in date order.
func (s *DB) Films(ctx context.Context, hipID string) ([]study.Film, error) {
	films, err := collect(ctx, s, "SELECT "+filmColumns+" FROM film WHERE hip_id = ? ORDER BY date, id",
		[]any{hipID}, func(scan scanner) (study.Film, error) {
			var r filmRow
			if err := scan(r.fields()...); err != nil {
				return study.Film{}, err
			}
			return r.film()
		})
	if err != nil {
		return nil, s.fault(fmt.Sprintf("read the films of hip %q", hipID), err)
	}
	return films, nil
}

// SaveFilm adds the film, or changes the one with its ID. Its hip must have
// been saved.
func (s *DB) SaveFilm(ctx context.Context, f study.Film) error {
	given, err := json.Marshal(f.Given)
	if err != nil {
		return s.fault(fmt.Sprintf("save film %q", f.ID), err)
	}
	_, err = s.db.ExecContext(ctx, `INSERT INTO film
		(id, hip_id, path, sha256, patient, date, side, width, height, spacing_mm, spacing_kind, view, source_mm, given)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET hip_id = excluded.hip_id, path = excluded.path, sha256 = excluded.sha256,
		patient = excluded.patient, date = excluded.date, side = excluded.side, width = excluded.width,
		height = excluded.height, spacing_mm = excluded.spacing_mm, spacing_kind = excluded.spacing_kind,
		view = excluded.view, source_mm = excluded.source_mm, given = excluded.given`,
		f.ID, f.HipID, f.Path, f.SHA256, f.Patient, formatDate(f.Date), f.Side.String(), f.Width, f.Height,
		f.SpacingMM, f.SpacingKind, string(f.View), f.SourceMM, string(given))
	if err != nil {
		return s.fault(fmt.Sprintf("save film %q", f.ID), err)
	}
	return nil
}
