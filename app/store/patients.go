package store

import (
	"context"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

const patientColumns = "site, code, sex, height_cm, weight_kg, revision"

func scanPatient(scan scanner) (p study.Patient, err error) {
	err = scan(&p.Site, &p.Code, &p.Sex, &p.HeightCM, &p.WeightKG, &p.Revision)
	return p, err
}

func patients(ctx context.Context, q querier, where string, args ...any) ([]study.Patient, error) {
	return collect(ctx, q, "SELECT "+patientColumns+" FROM patient "+where+" ORDER BY site, code", args, scanPatient)
}

// Patients implements study.Store.
func (s *Tables) Patients(ctx context.Context) ([]study.Patient, error) {
	list, err := patients(ctx, s.main(), "")
	if err != nil {
		return nil, s.fault(named("store.read-patients"), err)
	}
	return list, nil
}

// SavePatient implements study.Store.
func (s *Tables) SavePatient(ctx context.Context, p study.Patient, by study.Stamp) (study.Patient, error) {
	saved := p
	err := s.commit(ctx, named("store.save-patient", "Patient", p.Label()), func(tx querier) (err error) {
		saved, err = savePatient(ctx, tx, p, by)
		return err
	})
	return saved, err
}

func savePatient(ctx context.Context, tx querier, p study.Patient, by study.Stamp) (study.Patient, error) {
	was, err := patients(ctx, tx, "WHERE site = ? AND code = ?", p.Site, p.Code)
	if err != nil {
		return p, err
	}
	before := firstOf(was)
	if err := unchanged(p, before, p.Revision, before.Revision); err != nil {
		return p, err
	}
	p.Revision++
	err = tracedExec(ctx, tx, ofPatient, by, "WHERE site = ? AND code = ?", []any{p.Site, p.Code}, "INSERT INTO patient ("+patientColumns+`) VALUES (?, ?, ?, ?, ?, ?)
		ON CONFLICT (site, code) DO UPDATE SET sex = excluded.sex, height_cm = excluded.height_cm, weight_kg = excluded.weight_kg,
		revision = excluded.revision`, p.Site, p.Code, p.Sex, p.HeightCM, p.WeightKG, p.Revision)
	return p, err
}

func sites(ctx context.Context, q querier, where string, args ...any) ([]study.Site, error) {
	return collect(ctx, q, "SELECT code, name, revision FROM site "+where+" ORDER BY code", args, func(scan scanner) (o study.Site, err error) {
		err = scan(&o.Code, &o.Name, &o.Revision)
		return o, err
	})
}

// Sites implements study.Store.
func (s *Tables) Sites(ctx context.Context) ([]study.Site, error) {
	list, err := sites(ctx, s.main(), "")
	if err != nil {
		return nil, s.fault(named("store.read-sites"), err)
	}
	return list, nil
}

// SaveSite implements study.Store.
func (s *Tables) SaveSite(ctx context.Context, o study.Site, by study.Stamp) (study.Site, error) {
	saved := o
	err := s.commit(ctx, named("store.save-site", "Site", o.Code), func(tx querier) (err error) {
		saved, err = saveSite(ctx, tx, o, by)
		return err
	})
	return saved, err
}

func saveSite(ctx context.Context, tx querier, o study.Site, by study.Stamp) (study.Site, error) {
	was, err := sites(ctx, tx, "WHERE code = ?", o.Code)
	if err != nil {
		return o, err
	}
	before := firstOf(was)
	if err := unchanged(o, before, o.Revision, before.Revision); err != nil {
		return o, err
	}
	o.Revision++
	err = tracedExec(ctx, tx, ofSite, by, "WHERE code = ?", []any{o.Code}, `INSERT INTO site (code, name, revision) VALUES (?, ?, ?)
		ON CONFLICT (code) DO UPDATE SET name = excluded.name, revision = excluded.revision`, o.Code, o.Name, o.Revision)
	return o, err
}

// Enter implements study.Store.
func (s *Tables) Enter(ctx context.Context, e study.Entries, by study.Stamp) (study.Entries, error) {
	saved := e
	err := s.commit(ctx, named("store.enter"), func(tx querier) (err error) {
		saved, err = enter(ctx, tx, e, by)
		return err
	})
	return saved, err
}

func enter(ctx context.Context, tx querier, e study.Entries, by study.Stamp) (study.Entries, error) {
	saved, was := e, e
	var err error
	if saved.Sites, err = each(ctx, tx, e.Sites, by, saveSite); err != nil {
		return was, err
	}
	if saved.Patients, err = each(ctx, tx, e.Patients, by, savePatient); err != nil {
		return was, err
	}
	if e.Hips, err = numbered(ctx, tx, e.Hips); err != nil {
		return was, err
	}
	if saved.Hips, err = each(ctx, tx, e.Hips, by, saveHip); err != nil {
		return was, err
	}
	if saved.Variables, err = each(ctx, tx, e.Variables, by, saveVariable); err != nil {
		return was, err
	}
	if err := setValues(ctx, tx, e.Values, by); err != nil {
		return was, err
	}
	if saved.Events, err = each(ctx, tx, e.Events, by, func(ctx context.Context, tx querier, e study.Event, _ study.Stamp) (study.Event, error) {
		return addEvent(ctx, tx, e)
	}); err != nil {
		return was, err
	}
	return saved, nil
}

// numbered gives the hips that have none an ID: at once, since the highest is sought among
// all.
func numbered(ctx context.Context, tx querier, list []study.Hip) ([]study.Hip, error) {
	last, err := lastID(ctx, tx, "hip", "H")
	if err != nil {
		return nil, err
	}
	list = slices.Clone(list)
	taken := map[string]bool{}
	for _, h := range list {
		taken[h.ID] = true
	}
	for i := range list {
		for list[i].ID == "" {
			last++
			if id := fmt.Sprint("H", last); !taken[id] {
				list[i].ID = id
			}
		}
	}
	return list, nil
}

// each saves each of list.
func each[T any](ctx context.Context, tx querier, list []T, by study.Stamp, save func(context.Context, querier, T, study.Stamp) (T, error)) ([]T, error) {
	var out []T
	for _, v := range list {
		v, err := save(ctx, tx, v, by)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// firstOf returns the first of a list, or zero.
func firstOf[T any](list []T) (v T) {
	if len(list) > 0 {
		v = list[0]
	}
	return v
}

// unchanged refuses what is saved of a revision that is not the one that is kept, 0 where
// none is.
func unchanged(mine, theirs study.Revised, revision, kept int) error {
	switch {
	case revision == kept:
		return nil
	case kept == 0:
		return study.ErrUnknown
	}
	return &study.ConflictError{Mine: mine, Theirs: theirs}
}
