package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

const filmColumns = `film.id, film.path, film.sha256, film.pixel_key, film.patient, film.date, film.side, film.view,
	film.width, film.height, film.spacing_mm, film.spacing_kind, film.source_mm, film.field_x, film.field_y, film.axes,
	film.given, film.waits, film.reason, film.revision`

// filmRow receives filmColumns.
type filmRow struct {
	study.Film
	date, side, axes, given string
	x, y                    sql.NullFloat64
}

func (r *filmRow) fields() []any {
	f, s := &r.Film, &r.Film.Facts
	return []any{&f.ID, &f.Path, &s.SHA256, &s.PixelKey, &s.Patient, &r.date, &r.side, &s.View,
		&s.Width, &s.Height, &s.SpacingMM, &s.SpacingKind, &s.SourceMM, &r.x, &r.y, &r.axes,
		&r.given, &f.Waits, noteText{&f.Reason}, &f.Revision}
}

func (r *filmRow) film() (f study.Film, err error) {
	f = r.Film
	if f.Facts.Side, err = study.ParseSide(r.side); err != nil {
		return f, err
	}
	if r.x.Valid && r.y.Valid {
		f.Facts.Field = &study.Pixel{X: r.x.Float64, Y: r.y.Float64}
	}
	if err = decode(r.axes, &f.Facts.Axes); err != nil {
		return f, wrapped(wrapped(err, "store.axes"), "store.film", "Film", short(f.ID))
	}
	if err = decode(r.given, &f.Given); err != nil {
		return f, wrapped(wrapped(err, "store.given"), "store.film", "Film", short(f.ID))
	}
	f.Facts.Date, err = parseDate(r.date)
	return f, err
}

func scanFilm(scan scanner) (study.Film, error) {
	var r filmRow
	if err := scan(r.fields()...); err != nil {
		return study.Film{}, err
	}
	return r.film()
}

// films reads those that where leaves, in date order.
func films(ctx context.Context, q querier, where string, args ...any) ([]study.Film, error) {
	list, err := collect(ctx, q, "SELECT "+filmColumns+" FROM film "+where, args, scanFilm)
	study.SortFilms(list)
	return list, err
}

const ofHip = "JOIN link ON link.film_id = film.id WHERE link.hip_id = ?"

// Films implements study.Store.
func (s *Tables) Films(ctx context.Context, hipID string) ([]study.Film, error) {
	list, err := films(ctx, s.main(), ofHip, hipID)
	if err != nil {
		return nil, s.fault(named("store.read-films", "Hip", short(hipID)), err)
	}
	return list, nil
}

// Unsorted implements study.Store.
func (s *Tables) Unsorted(ctx context.Context) ([]study.Film, error) {
	list, err := films(ctx, s.main(), "WHERE NOT EXISTS (SELECT 1 FROM link WHERE link.film_id = film.id)")
	if err != nil {
		return nil, s.fault(named("store.read-unsorted"), err)
	}
	return list, nil
}

// FilmByPixels implements study.Store.
func (s *Tables) FilmByPixels(ctx context.Context, file study.Facts) (study.Film, bool, error) {
	f, ok, err := filmByPixels(ctx, s.main(), file)
	if err != nil {
		return f, false, s.fault(named("store.look"), err)
	}
	return f, ok, nil
}

func filmByPixels(ctx context.Context, q querier, file study.Facts) (study.Film, bool, error) {
	list, err := films(ctx, q, "WHERE film.pixel_key = ? AND film.pixel_key <> '' OR film.sha256 = ? AND film.sha256 <> ''",
		file.PixelKey, file.SHA256)
	for _, f := range list {
		if f.Facts.SamePicture(file) {
			return f, true, err
		}
	}
	return study.Film{}, false, err
}

// SaveFilm implements study.Store.
func (s *Tables) SaveFilm(ctx context.Context, f study.Film, by study.Stamp) (study.Film, error) {
	saved := f
	err := s.commit(ctx, named("store.save-film", "Film", short(f.Name())), func(tx querier) error {
		if saved.ID == "" {
			id, err := newID(ctx, tx, "film", "F")
			if err != nil {
				return err
			}
			saved.ID = id
		}
		was, err := films(ctx, tx, "WHERE id = ?", saved.ID)
		if err != nil {
			return err
		}
		var before study.Film
		if len(was) > 0 {
			before = was[0]
		}
		switch {
		case before.Revision != f.Revision && before.ID == "":
			return wrapped(study.ErrUnknown, "store.film", "Film", short(f.Name()))
		case before.Revision != f.Revision:
			return &study.ConflictError{Mine: f, Theirs: before}
		}
		if same, ok, err := filmByPixels(ctx, tx, f.Facts); err != nil {
			return err
		} else if ok && same.ID != saved.ID {
			return &study.DoubleError{Film: same}
		}
		saved.Revision++
		return changeFilm(ctx, tx, before, saved, by)
	})
	return saved, err
}

// AddFilms implements study.Store.
func (s *Tables) AddFilms(ctx context.Context, list []study.Film, by study.Stamp) ([]study.Film, error) {
	saved := slices.Clone(list)
	err := s.commit(ctx, named("store.save-films", "N", float64(len(list))), func(tx querier) error {
		last, err := lastID(ctx, tx, "film", "F")
		if err != nil {
			return err
		}
		for i, f := range saved {
			if f.ID != "" || f.Revision != 0 {
				return wrapped(study.ErrUnknown, "store.film", "Film", short(f.Name()))
			}
			same, ok, err := filmByPixels(ctx, tx, f.Facts)
			if err != nil {
				return err
			}
			if ok {
				saved[i] = same
				continue
			}
			last++
			f.ID, f.Revision = fmt.Sprint("F", last), 1
			if err := changeFilm(ctx, tx, study.Film{}, f, by); err != nil {
				return err
			}
			saved[i] = f
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return saved, nil
}

// changeFilm saves a film, and what it was before.
func changeFilm(ctx context.Context, tx querier, before, now study.Film, by study.Stamp) error {
	if err := addChange(ctx, tx, "film", now.ID, orNil(before, before.Revision), now, by); err != nil {
		return err
	}
	return putFilm(ctx, tx, now)
}

func putFilm(ctx context.Context, tx querier, f study.Film) error {
	texts, err := encode(f.Facts.Axes, f.Given)
	if err != nil {
		return err
	}
	if f.Facts.Axes == (study.Axes{}) {
		texts[0] = "{}"
	}
	s := f.Facts
	var x, y sql.NullFloat64
	if s.Field != nil {
		x, y = sql.NullFloat64{Float64: s.Field.X, Valid: true}, sql.NullFloat64{Float64: s.Field.Y, Valid: true}
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO film
		(id, path, sha256, pixel_key, patient, date, side, view, width, height, spacing_mm, spacing_kind, source_mm,
		field_x, field_y, axes, given, waits, reason, revision)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET path = excluded.path, sha256 = excluded.sha256, pixel_key = excluded.pixel_key,
		patient = excluded.patient, date = excluded.date, side = excluded.side, view = excluded.view,
		width = excluded.width, height = excluded.height, spacing_mm = excluded.spacing_mm,
		spacing_kind = excluded.spacing_kind, source_mm = excluded.source_mm, field_x = excluded.field_x,
		field_y = excluded.field_y, axes = excluded.axes, given = excluded.given, waits = excluded.waits,
		reason = excluded.reason, revision = excluded.revision`,
		f.ID, f.Path, s.SHA256, s.PixelKey, s.Patient, formatDate(s.Date), s.Side.String(), string(s.View), s.Width, s.Height,
		s.SpacingMM, s.SpacingKind, s.SourceMM, x, y, texts[0], texts[1], string(f.Waits), noteText{&f.Reason}, f.Revision)
	return err
}

// FilmChanges implements study.Store.
func (s *Tables) FilmChanges(ctx context.Context, filmID string) ([]study.FilmChange, error) {
	return changes(ctx, s, "film", filmID, func(before string, by study.Stamp) (c study.FilmChange, err error) {
		c.Stamp = by
		return c, decode(before, &c.Before)
	})
}

// DropFilm implements study.Store.
func (s *Tables) DropFilm(ctx context.Context, filmID string, by study.Stamp) error {
	return s.commit(ctx, named("store.forget", "Film", short(filmID)), func(tx querier) error {
		if err := restsOn(ctx, tx, "film_id = ?", filmID); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "DELETE FROM draft WHERE film_id = ?", filmID); err != nil {
			return err
		}
		if err := tracedExec(ctx, tx, ofValue, by, "WHERE of = 'film' AND id = ?", []any{filmID}, "DELETE FROM value WHERE of = 'film' AND id = ?", filmID); err != nil {
			return err
		}
		if err := tracedExec(ctx, tx, ofLink, by, "WHERE film_id = ?", []any{filmID}, "DELETE FROM link WHERE film_id = ?", filmID); err != nil {
			return err
		}
		was, err := films(ctx, tx, "WHERE id = ?", filmID)
		if err != nil || len(was) == 0 {
			return err
		}
		if err := addChange(ctx, tx, "film", filmID, was[0], nil, by); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "DELETE FROM film WHERE id = ?", filmID)
		return err
	})
}
