package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"linerwatch/app/study"
)

// Readings returns every reading of the hip's films, oldest first. The film of
// a reading is the film as it stands now, except for its SHA256, which is that
// of the file that was read.
func (s *DB) Readings(ctx context.Context, hipID string) ([]study.Reading, error) {
	readings, err := collect(ctx, s, `SELECT `+filmColumns+`, reading.id, reading.sha256, reading.reader, reading.at,
		reading.version, reading.supersedes, reading.status, reading.reason, reading.side, reading.cup_kind,
		reading.head_mm, reading.head, reading.cup, reading.result, reading.warnings,
		reading.line, reading.method, reading.beam, reading.corrected, reading.rim,
		withdrawal.back, withdrawal.reader, withdrawal.at, withdrawal.version
		FROM reading JOIN film ON film.id = reading.film_id`+lastWithdrawal+` WHERE film.hip_id = ? ORDER BY reading.seq`,
		[]any{hipID}, scanReading)
	if err != nil {
		return nil, s.fault(fmt.Sprintf("read the readings of hip %q", hipID), err)
	}
	return readings, nil
}

func scanReading(scan scanner) (r study.Reading, err error) {
	var film filmRow
	var sha, at, side, head, cup, result, warnings, line, method, beam, corrected, rim string
	var supersedes sql.NullString
	var taken withdrawalRow
	fields := append(film.fields(), &r.ID, &sha, &r.Reader, &at, &r.Version, &supersedes, &r.Status, &r.Reason,
		&side, &r.CupKind, &r.HeadMM, &head, &cup, &result, &warnings,
		&line, &method, &beam, &corrected, &rim)
	if err = scan(append(fields, taken.fields()...)...); err != nil {
		return r, err
	}
	if r.Film, err = film.film(); err != nil {
		return r, err
	}
	r.FilmID, r.Film.SHA256, r.Supersedes = r.Film.ID, sha, supersedes.String
	if r.At, err = time.Parse(time.RFC3339Nano, at); err != nil {
		return r, err
	}
	if r.Withdrawn, err = taken.withdrawal(r.ID); err != nil {
		return r, err
	}
	if r.Side, err = study.ParseSide(side); err != nil {
		return r, err
	}
	for _, c := range []struct {
		name, text string
		to         any
	}{{"head", head, &r.Head}, {"cup", cup, &r.Cup}, {"result", result, &r.Reading}, {"warnings", warnings, &r.Warnings},
		{"line", line, &r.Line}, {"method", method, &r.How}, {"beam", beam, &r.Beam}, {"corrected", corrected, &r.Corrected}, {"rim", rim, &r.Rim}} {
		if err := decode(c.text, c.to); err != nil {
			return r, fmt.Errorf("reading %q: %s: %w", r.ID, c.name, err)
		}
	}
	return r, nil
}

// decode reads JSON into to; better nothing than part of it.
func decode(text string, to any) error {
	d := json.NewDecoder(strings.NewReader(text))
	d.DisallowUnknownFields()
	return d.Decode(to)
}

// AddReading adds a reading of a saved film. It refuses an ID that exists, a
// superseded reading of another film, and numbers that are not finite.
func (s *DB) AddReading(ctx context.Context, r study.Reading) error {
	if err := s.addReading(ctx, r); err != nil {
		return s.fault(fmt.Sprintf("add reading %q", r.ID), err)
	}
	return nil
}

func (s *DB) addReading(ctx context.Context, r study.Reading) error {
	if r.Film.ID != "" && r.Film.ID != r.FilmID {
		return fmt.Errorf("it names film %q but was made on film %q", r.FilmID, r.Film.ID)
	}
	var column [9]string
	for i, v := range []any{r.Head, r.Cup, r.Reading, r.Warnings, r.Line, r.How, r.Beam, r.Corrected, r.Rim} {
		b, err := json.Marshal(v)
		if err != nil {
			return err
		}
		column[i] = string(b)
	}
	_, err := s.db.ExecContext(ctx, `INSERT INTO reading
		(id, film_id, sha256, reader, at, version, supersedes, status, reason, side, cup_kind, head_mm,
		head, cup, result, warnings, line, method, beam, corrected, rim)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		r.ID, r.FilmID, r.Film.SHA256, r.Reader, r.At.UTC().Format(time.RFC3339Nano), r.Version,
		sql.NullString{String: r.Supersedes, Valid: r.Supersedes != ""}, string(r.Status), r.Reason, r.Side.String(),
		string(r.CupKind), r.HeadMM, column[0], column[1], column[2], column[3],
		column[4], column[5], column[6], column[7], column[8])
	return err
}
