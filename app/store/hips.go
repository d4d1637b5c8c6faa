package store

import (
	"context"
	"database/sql"

	"linerwatch/app/study"
)

const hipColumns = `id, patient, study_group, side, surgery, head_mm, head_material, liner_mm, pe,
	shell_mm, fixation, start_years, baseline, beam_off, revision, site, age, liner_inner_mm, liner_outer_mm, irradiated,
	dose_kgy, stabiliser, lipped, catalogue`

// until is the day of the first event that ends the series of a hip (study.UntilOf).
const until = `(SELECT min(event.date) FROM event WHERE event.hip_id = hip.id AND event.takes_back IS NULL
	AND event.kind IN ('head exchanged', 'liner exchanged', 'cup revised')
	AND NOT EXISTS (SELECT 1 FROM event back WHERE back.takes_back = event.seq))`

func scanHip(scan scanner) (h study.Hip, err error) {
	var side, surgery string
	var until sql.NullString
	m := &h.Implant
	if err = scan(&h.ID, &h.Patient, &h.Group, &side, &surgery, &m.HeadMM, &m.HeadMaterial, &m.LinerMM, &m.PE,
		&m.ShellMM, &m.Fixation, &h.StartYears, &h.Baseline, &h.BeamOff, &h.Revision, &h.Site, &h.Age, &m.LinerInnerMM, &m.LinerOuterMM,
		&m.Irradiated, &m.DoseKGy, &m.Stabiliser, &m.Lipped, &m.Catalogue, &until); err != nil {
		return h, err
	}
	if h.Side, err = study.ParseSide(side); err != nil {
		return h, err
	}
	if h.Surgery, err = parseDate(surgery); err != nil {
		return h, err
	}
	h.Until, err = parseDate(until.String)
	return h, err
}

// hipOrder is the order of hips.
const hipOrder = "site, patient, side DESC, id"

// hips reads those that where leaves.
func hips(ctx context.Context, q querier, where string, args ...any) ([]study.Hip, error) {
	return collect(ctx, q, "SELECT "+hipColumns+", "+until+" FROM hip "+where+" ORDER BY "+hipOrder, args, scanHip)
}

// Hips implements study.Store.
func (s *Tables) Hips(ctx context.Context) ([]study.Hip, error) {
	all, err := hips(ctx, s.main(), "")
	if err != nil {
		return nil, s.fault(named("store.read-hips"), err)
	}
	return all, nil
}

// SaveHip implements study.Store.
func (s *Tables) SaveHip(ctx context.Context, h study.Hip, by study.Stamp) (study.Hip, error) {
	saved := h
	err := s.commit(ctx, named("store.save-hip", "Hip", h.Label()), func(tx querier) (err error) {
		saved, err = saveHip(ctx, tx, h, by)
		return err
	})
	return saved, err
}

func saveHip(ctx context.Context, tx querier, h study.Hip, by study.Stamp) (saved study.Hip, err error) {
	saved = h
	if saved.ID == "" {
		if saved.ID, err = newID(ctx, tx, "hip", "H"); err != nil {
			return h, err
		}
	}
	was, err := hips(ctx, tx, "WHERE id = ?", saved.ID)
	if err != nil {
		return h, err
	}
	var before study.Hip
	if len(was) > 0 {
		before = was[0]
	}
	switch {
	case before.Revision != h.Revision && before.ID == "":
		return h, wrapped(study.ErrUnknown, "store.hip", "Hip", short(h.ID))
	case before.Revision != h.Revision:
		return h, &study.ConflictError{Mine: h, Theirs: before}
	}
	saved.Revision++
	saved.Until = before.Until // the events have it
	if err := addChange(ctx, tx, "hip", saved.ID, orNil(before, before.Revision), saved, by); err != nil {
		return h, err
	}
	if err := putHip(ctx, tx, saved); err != nil {
		return h, err
	}
	return saved, nil
}

func putHip(ctx context.Context, tx querier, h study.Hip) error {
	m := h.Implant
	_, err := tx.ExecContext(ctx, "INSERT INTO hip ("+hipColumns+`) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET patient = excluded.patient, study_group = excluded.study_group,
		side = excluded.side, surgery = excluded.surgery, head_mm = excluded.head_mm,
		head_material = excluded.head_material, liner_mm = excluded.liner_mm, pe = excluded.pe,
		shell_mm = excluded.shell_mm, fixation = excluded.fixation, start_years = excluded.start_years,
		baseline = excluded.baseline, beam_off = excluded.beam_off, revision = excluded.revision, site = excluded.site, age = excluded.age,
		liner_inner_mm = excluded.liner_inner_mm, liner_outer_mm = excluded.liner_outer_mm, irradiated = excluded.irradiated,
		dose_kgy = excluded.dose_kgy, stabiliser = excluded.stabiliser, lipped = excluded.lipped, catalogue = excluded.catalogue`,
		h.ID, h.Patient, h.Group, h.Side.String(), formatDate(h.Surgery), m.HeadMM, m.HeadMaterial, m.LinerMM, m.PE,
		m.ShellMM, m.Fixation, h.StartYears, h.Baseline, h.BeamOff, h.Revision, h.Site, h.Age, m.LinerInnerMM, m.LinerOuterMM,
		string(m.Irradiated), m.DoseKGy, m.Stabiliser, string(m.Lipped), m.Catalogue)
	return err
}

// HipChanges implements study.Store.
func (s *Tables) HipChanges(ctx context.Context, hipID string) ([]study.HipChange, error) {
	return changes(ctx, s, "hip", hipID, func(before string, by study.Stamp) (c study.HipChange, err error) {
		c.Stamp = by
		return c, decode(before, &c.Before)
	})
}
