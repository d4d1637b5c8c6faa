package store

import (
	"context"
	"fmt"
	"time"

	"linerwatch/app/study"
)

// Hips returns every hip in order of ID.
func (s *DB) Hips(ctx context.Context) ([]study.Hip, error) {
	hips, err := collect(ctx, s, `SELECT id, patient, study_group, side, surgery, head_mm, head_material, liner_mm, pe,
		shell_mm, fixation, start_years, baseline, beam_off FROM hip ORDER BY id`, nil, func(scan scanner) (h study.Hip, err error) {
		var side, surgery string
		m := &h.Implant
		if err = scan(&h.ID, &h.Patient, &h.Group, &side, &surgery, &m.HeadMM, &m.HeadMaterial, &m.LinerMM, &m.PE,
			&m.ShellMM, &m.Fixation, &h.StartYears, &h.Baseline, &h.BeamOff); err != nil {
			return h, err
		}
		if h.Side, err = study.ParseSide(side); err != nil {
			return h, err
		}
		h.Surgery, err = parseDate(surgery)
		return h, err
	})
	if err != nil {
		return nil, s.fault("read hips", err)
	}
	return hips, nil
}

// SaveHip adds the hip, or changes the one with its ID.
func (s *DB) SaveHip(ctx context.Context, h study.Hip) error {
	m := h.Implant
	_, err := s.db.ExecContext(ctx, `INSERT INTO hip
		(id, patient, study_group, side, surgery, head_mm, head_material, liner_mm, pe, shell_mm, fixation,
		start_years, baseline, beam_off)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET patient = excluded.patient, study_group = excluded.study_group,
		side = excluded.side, surgery = excluded.surgery, head_mm = excluded.head_mm,
		head_material = excluded.head_material, liner_mm = excluded.liner_mm, pe = excluded.pe,
		shell_mm = excluded.shell_mm, fixation = excluded.fixation, start_years = excluded.start_years,
		baseline = excluded.baseline, beam_off = excluded.beam_off`,
		h.ID, h.Patient, h.Group, h.Side.String(), formatDate(h.Surgery), m.HeadMM, m.HeadMaterial, m.LinerMM, m.PE,
		m.ShellMM, m.Fixation, h.StartYears, h.Baseline, h.BeamOff)
	if err != nil {
		return s.fault(fmt.Sprintf("save hip %q", h.ID), err)
	}
	return nil
}

// scanner is sql.Rows.Scan.
type scanner = func(dest ...any) error

// collect runs a query and reads its rows.
func collect[T any](ctx context.Context, s *DB, query string, args []any, read func(scanner) (T, error)) (out []T, err error) {
	rows, err := s.db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		v, err := read(rows.Scan)
		if err != nil {
			_ = rows.Close() // the first error is the one to tell
			return nil, err
		}
		out = append(out, v)
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	return out, rows.Close()
}

// formatDate writes a day as ISO 8601, empty where it is not known.
func formatDate(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}

func parseDate(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	return time.Parse(time.DateOnly, s)
}
