package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"time"

	"linerwatch/app/study"
)

// oldFilm is a film as files before migration 7 keep it: of one hip, and for a second
// hip once more.
type oldFilm struct {
	ID, HipID, Path, SHA256, Patient string
	Date                             time.Time
	Side                             study.Side
	Width, Height                    int
	SpacingMM                        float64
	SpacingKind                      string
	View                             study.View
	SourceMM                         float64
	Given                            struct {
		SourceMM      float64
		Center, Field *study.Pixel
		Axes          study.Axes
	}
}

// film returns what is known of it. Files of then do not tell what a reader has given
// of date and view from what the file says; it is taken as the file's (Film.Refresh).
func (o oldFilm) film() study.Film {
	return study.Film{ID: o.ID, Path: o.Path, Revision: 1,
		Facts: study.Facts{SHA256: o.SHA256, Patient: o.Patient, Date: o.Date, Side: o.Side, View: o.View, Width: o.Width,
			Height: o.Height, SpacingMM: o.SpacingMM, SpacingKind: o.SpacingKind, SourceMM: o.SourceMM, Field: o.Given.Field},
		Given: study.Given{SourceMM: o.Given.SourceMM, Center: o.Given.Center, Axes: o.Given.Axes}}
}

// mover moves what old tables hold to those of migration 7.
type mover struct {
	tx    *sql.Tx
	films map[string]study.Film // by file
	id    map[string]string     // of each film now, by its old ID
	tell  study.Progress        // may be nil
}

func (m *mover) told(done, of int) {
	if m.tell != nil {
		m.tell(done, of)
	}
}

func moveToLinks(ctx context.Context, tx *sql.Tx, tell study.Progress) error {
	m := mover{tx, map[string]study.Film{}, map[string]string{}, tell}
	for _, step := range []func(context.Context) error{m.moveFilms, m.moveDrafts, m.moveReadings, m.moveRest} {
		if err := step(ctx); err != nil {
			return err
		}
	}
	return nil
}

func (m *mover) moveFilms(ctx context.Context) error {
	list, err := collect(ctx, m.tx, `SELECT id, hip_id, path, sha256, patient, date, side, width, height, spacing_mm,
		spacing_kind, view, source_mm, given FROM old_film ORDER BY rowid`, nil, func(scan scanner) (o oldFilm, err error) {
		var date, side, given string
		if err = scan(&o.ID, &o.HipID, &o.Path, &o.SHA256, &o.Patient, &date, &side, &o.Width, &o.Height, &o.SpacingMM,
			&o.SpacingKind, &o.View, &o.SourceMM, &given); err != nil {
			return o, err
		}
		if o.Side, err = study.ParseSide(side); err != nil {
			return o, err
		}
		if o.Date, err = parseDate(date); err != nil {
			return o, err
		}
		return o, json.Unmarshal([]byte(given), &o.Given)
	})
	if err != nil {
		return err
	}
	for _, o := range list {
		if err := m.add(ctx, o); err != nil {
			return err
		}
	}
	_, err = m.tx.ExecContext(ctx, "UPDATE hip SET baseline = coalesce((SELECT j.id FROM joined j WHERE j.old = hip.baseline), baseline)")
	return err
}

// add makes an old film one of its hip. One whose file is another film's already is
// joined to that, which takes what it does not know itself; what was there is kept
// among the changes.
func (m *mover) add(ctx context.Context, o oldFilm) error {
	f := o.film()
	first, twin := m.films[f.Facts.SHA256]
	if twin = twin && f.Facts.SHA256 != "" && first.ID != f.ID; twin {
		if err := m.keep(ctx, first.ID, f); err != nil {
			return err
		}
		f = joined(first, f)
	}
	m.films[f.Facts.SHA256], m.id[o.ID] = f, f.ID
	if err := putFilm(ctx, m.tx, f); err != nil {
		return err
	}
	if _, err := m.tx.ExecContext(ctx, "INSERT OR REPLACE INTO joined (old, id) VALUES (?, ?)", o.ID, f.ID); err != nil {
		return err
	}
	_, err := m.tx.ExecContext(ctx, "INSERT OR IGNORE INTO link (hip_id, film_id, searched, reason) VALUES (?, ?, '', '')", o.HipID, f.ID)
	return err
}

// keep keeps what a film was that is joined to another.
func (m *mover) keep(ctx context.Context, id string, twin study.Film) error {
	text, err := encode(twin)
	if err != nil {
		return err
	}
	_, err = m.tx.ExecContext(ctx, "INSERT INTO film_change (film_id, before, reader, at, version) VALUES (?, ?, '', '', '')", id, text[0])
	return err
}

func joined(f, twin study.Film) study.Film {
	if f.Given.SourceMM == 0 {
		f.Given.SourceMM = twin.Given.SourceMM
	}
	if f.Given.Center == nil {
		f.Given.Center = twin.Given.Center
	}
	if f.Given.Axes == (study.Axes{}) {
		f.Given.Axes = twin.Given.Axes
	}
	if f.Facts.Date.IsZero() {
		f.Facts.Date = twin.Facts.Date
	}
	if f.Facts.View == "" {
		f.Facts.View = twin.Facts.View
	}
	return f
}

// moveDrafts moves drafts, of which each holds its film. Films that were merely open
// become films of their hip.
func (m *mover) moveDrafts(ctx context.Context) error {
	type oldDraft struct {
		film         oldFilm
		at, outlines string
	}
	list, err := collect(ctx, m.tx, "SELECT hip_id, film_id, film, at, outlines FROM old_draft ORDER BY rowid", nil, func(scan scanner) (d oldDraft, err error) {
		var hip, id, film string
		if err = scan(&hip, &id, &film, &d.at, &d.outlines); err != nil {
			return d, err
		}
		err = json.Unmarshal([]byte(film), &d.film)
		d.film.HipID, d.film.ID = hip, id
		return d, err
	})
	if err != nil {
		return err
	}
	for _, d := range list {
		if _, known := m.id[d.film.ID]; !known {
			err = m.add(ctx, d.film)
		} else {
			_, err = m.tx.ExecContext(ctx, "INSERT OR IGNORE INTO link (hip_id, film_id, searched, reason) VALUES (?, ?, '', '')",
				d.film.HipID, m.id[d.film.ID])
		}
		if err == nil && d.outlines != "null" {
			_, err = m.tx.ExecContext(ctx, `INSERT OR REPLACE INTO draft (hip_id, film_id, kind, at, version, outlines)
				VALUES (?, ?, 'edited', ?, '', ?)`, d.film.HipID, m.id[d.film.ID], d.at, d.outlines)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func (m *mover) moveRest(ctx context.Context) error {
	_, err := m.tx.ExecContext(ctx, `
		INSERT INTO withdrawal SELECT * FROM old_withdrawal ORDER BY seq;
		INSERT INTO exclusion (hip_id, film_id, code, note, reader, at, version)
			SELECT f.hip_id, j.id, x.code, x.note, x.reader, x.at, x.version FROM old_exclusion x
			JOIN old_film f ON f.id = x.film_id JOIN joined j ON j.old = x.film_id ORDER BY x.seq;
		DROP TABLE joined;`)
	return err
}
