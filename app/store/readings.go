package store

import (
	"context"
	"database/sql"
	"errors"

	"linerwatch/app/store/pack"
	"linerwatch/app/study"
)

const readingColumns = `reading.id, reading.hip_id, reading.film_id, reading.sha256, reading.reader, reading.at,
	reading.version, reading.supersedes, reading.status, reading.reason, reading.side, reading.cup_kind, reading.head_mm,
	reading.head, reading.cup, reading.head_points, reading.cup_points, reading.rim, reading.result,
	reading.list_id, reading.list_kind, reading.place, reading.occasion, reading.start, reading.untouched,
	withdrawal.back, withdrawal.reader, withdrawal.at, withdrawal.version`

// readingRow is a reading as it was read from the file, not decoded.
type readingRow struct {
	study.Reading
	sha, at, side, result string
	head, cup, rim        []byte
	supersedes            sql.NullString
	taken                 withdrawalRow
}

// result is what was read from the outlines of a reading, and how, in the form in which a
// study file keeps it as JSON.
type result struct {
	Reading  study.Result    `json:",omitzero"` // offset and its covariance, mm
	Warnings []study.Warning `json:",omitempty"`
	Line     study.Line      `json:",omitzero"` // reference line, pixels and degrees
	How      study.Method    `json:",omitzero"`
	Beam     study.BeamUse   `json:",omitzero"` // what was done about the cone beam
	NoRim    study.Note      `json:",omitzero"` // why no line along the cup's opening was found
}

func resultOf(m study.Measurement) result {
	return result{m.Reading, m.Warnings, m.Line, m.How, m.Beam, m.Rim.Why}
}

func (r result) put(m *study.Measurement) {
	m.Reading, m.Warnings, m.Line, m.How, m.Beam = r.Reading, r.Warnings, r.Line, r.How, r.Beam
}

func scanReading(scan scanner) (*readingRow, error) {
	r := new(readingRow)
	fields := []any{&r.ID, &r.HipID, &r.FilmID, &r.sha, &r.Reader, &r.at,
		&r.Version, &r.supersedes, &r.Status, noteText{&r.Reason}, &r.side, &r.CupKind, &r.HeadMM,
		&r.head, &r.cup, &r.Kept.Head, &r.Kept.Cup, &r.rim, &r.result,
		&r.Listed.List, &r.Listed.Kind, &r.Listed.Place, &r.Listed.Occasion, &r.Listed.Start, &r.Listed.Untouched}
	return r, scan(append(fields, r.taken.fields()...)...)
}

// reading decodes a row, in place; film is the film as it stands now.
func (r *readingRow) reading(film study.Film) (*study.Reading, error) {
	g := &r.Reading
	fault := func(err error) (*study.Reading, error) { return nil, wrapped(err, "store.reading", "Reading", g.ID) }
	g.Film, g.Supersedes = film, r.supersedes.String
	g.Film.Facts.SHA256 = r.sha
	var err error
	if g.At, err = parseTime(r.at); err != nil {
		return fault(err)
	}
	if g.Withdrawn, err = r.taken.withdrawal(g.ID); err != nil {
		return fault(err)
	}
	if g.Side, err = study.ParseSide(r.side); err != nil {
		return fault(err)
	}
	if g.Head, g.Corrected.Head, err = outlineOf(r.head); err != nil {
		return fault(wrapped(err, "store.head"))
	}
	if g.Cup, g.Corrected.Cup, err = outlineOf(r.cup); err != nil {
		return fault(wrapped(err, "store.cup"))
	}
	var read result
	if err := decode(r.result, &read); err != nil {
		return fault(err)
	}
	read.put(&g.Measurement)
	if g.Rim, err = rimOf(r.rim, read.NoRim); err != nil {
		return fault(wrapped(err, "store.rim"))
	}
	return g, nil
}

// readings reads the rows of those that where leaves, oldest first.
func readings(ctx context.Context, q querier, where string, args ...any) ([]*readingRow, error) {
	return collect(ctx, q, "SELECT "+readingColumns+" FROM reading"+lastWithdrawal+" "+where+" ORDER BY reading.seq", args, scanReading)
}

// Readings implements study.Store. The film of a reading is the film as it stands now,
// except for its SHA256, which is that of the file that was read.
func (s *Tables) Readings(ctx context.Context, hipID string) ([]study.Reading, error) {
	fault := func(err error) ([]study.Reading, error) {
		return nil, s.fault(named("store.read-readings", "Hip", short(hipID)), err)
	}
	list, err := films(ctx, s.main(), ofHip, hipID)
	if err != nil {
		return fault(err)
	}
	rows, err := readings(ctx, s.main(), "WHERE reading.hip_id = ?", hipID)
	if err != nil {
		return fault(err)
	}
	byID := filmsByID(list)
	var out []study.Reading
	for _, r := range rows {
		g, err := r.reading(byID[r.FilmID])
		if err != nil {
			return fault(err)
		}
		out = append(out, *g)
	}
	return out, nil
}

func filmsByID(list []study.Film) map[string]study.Film {
	out := make(map[string]study.Film, len(list))
	for _, f := range list {
		out[f.ID] = f
	}
	return out
}

// Points implements study.Store.
func (s *Tables) Points(ctx context.Context, readingID string) (study.Points, error) {
	p, err := points(ctx, s.main(), readingID)
	if err != nil {
		return p, s.fault(named("store.read-points", "Reading", readingID), err)
	}
	return p, nil
}

func points(ctx context.Context, q querier, readingID string) (p study.Points, err error) {
	var headAt, cupAt, head, cup []byte
	err = q.QueryRowContext(ctx, `SELECT reading.head, reading.cup, edges.head, edges.cup FROM reading
		JOIN edges ON edges.reading = reading.seq WHERE reading.id = ?`, readingID).Scan(&headAt, &cupAt, &head, &cup)
	if errors.Is(err, sql.ErrNoRows) {
		return p, study.ErrUnknown
	}
	if err != nil {
		return p, err
	}
	for _, c := range []struct {
		outline, edges []byte
		to             *study.EdgePoints
	}{{headAt, head, &p.Head}, {cupAt, cup, &p.Cup}} {
		o, _, err := outlineOf(c.outline)
		if err != nil {
			return p, err
		}
		if *c.to, err = pack.Unpack(c.edges, o.Circle); err != nil {
			return p, err
		}
	}
	return p, nil
}

// AddReading implements study.Store.
func (s *Tables) AddReading(ctx context.Context, r study.Reading) error {
	return s.commit(ctx, named("store.add-reading", "Reading", r.ID), func(tx querier) error { return addReading(ctx, tx, r) })
}

// AddNext implements study.Store.
func (s *Tables) AddNext(ctx context.Context, r study.Reading) error {
	return s.commit(ctx, named("store.add-reading", "Reading", r.ID), func(tx querier) error {
		var latest string
		err := tx.QueryRowContext(ctx, "SELECT reading.id FROM reading"+lastWithdrawal+` WHERE reading.hip_id = ? AND reading.film_id = ?
			AND reading.reader = ? AND reading.status = ? AND reading.list_id = '' AND coalesce(withdrawal.back, 1) <> 0 ORDER BY reading.seq DESC LIMIT 1`,
			r.HipID, r.FilmID, r.Reader, string(study.Measured)).Scan(&latest)
		switch {
		case err != nil && !errors.Is(err, sql.ErrNoRows):
			return err
		case latest != r.Supersedes:
			return study.ErrReadSince
		}
		return addReading(ctx, tx, r)
	})
}

func addReading(ctx context.Context, tx querier, r study.Reading) error {
	if r.Film.ID != "" && r.Film.ID != r.FilmID {
		return refused("store.other-film", "Film", short(r.FilmID), "Other", short(r.Film.ID))
	}
	if err := checkListReading(ctx, tx, r); err != nil {
		return err
	}
	texts, err := encode(resultOf(r.Measurement))
	if err != nil {
		return err
	}
	k, err := outlinesOf(r)
	if err != nil {
		return err
	}
	kept := r.Bare().Kept
	var seq int64
	err = tx.QueryRowContext(ctx, `INSERT INTO reading
		(id, hip_id, film_id, sha256, reader, at, version, supersedes, status, reason, side, cup_kind, head_mm,
		head, cup, head_points, cup_points, rim, result, list_id, list_kind, place, occasion, start, untouched)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING seq`,
		r.ID, r.HipID, r.FilmID, r.Film.Facts.SHA256, r.Reader, formatTime(r.At), r.Version,
		sql.NullString{String: r.Supersedes, Valid: r.Supersedes != ""}, string(r.Status), noteText{&r.Reason}, r.Side.String(),
		string(r.CupKind), r.HeadMM, k.head, k.cup, kept.Head, kept.Cup, k.rim, texts[0],
		r.Listed.List, string(r.Listed.Kind), r.Listed.Place, r.Listed.Occasion, string(r.Listed.Start), r.Listed.Untouched).Scan(&seq)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "INSERT INTO edges (reading, head, cup) VALUES (?, ?, ?)", seq, k.headEdges, k.cupEdges); err != nil {
		return err
	}
	return traceReading(ctx, tx, r, "")
}

// keptOutlines is what a study file keeps of a reading's outlines.
type keptOutlines struct{ head, cup, headEdges, cupEdges, rim []byte }

func outlinesOf(r study.Reading) (k keptOutlines, err error) {
	for _, c := range []struct {
		outline       study.Outline
		corrected     study.Circle
		number, edges *[]byte
	}{{r.Head, r.Corrected.Head, &k.head, &k.headEdges}, {r.Cup, r.Corrected.Cup, &k.cup, &k.cupEdges}} {
		if *c.number, err = outlineBytes(c.outline, c.corrected); err != nil {
			return k, err
		}
		packed, err := pack.Pack(c.outline)
		if err != nil {
			return k, err
		}
		*c.edges = append([]byte{}, packed...) // no bytes, but not none, where there are no edges
	}
	k.rim, err = rimBytes(r.Rim)
	return k, err
}
