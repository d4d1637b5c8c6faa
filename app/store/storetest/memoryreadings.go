package storetest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"linerwatch/app/study"
)

// readingsOf returns the hip's readings with their edge points, each with its film as it
// stands now, but for the file's hash.
func (m *Memory) readingsOf(hipID string) []study.Reading {
	out := where(m.readings, func(r study.Reading) bool { return r.HipID == hipID })
	for i := range out {
		r := &out[i]
		sha := r.Film.Facts.SHA256
		r.Film = m.films[slices.IndexFunc(m.films, func(f study.Film) bool { return f.ID == r.FilmID })]
		r.Film.Facts.SHA256 = sha
	}
	return out
}

// Readings implements study.Store.
func (m *Memory) Readings(ctx context.Context, hipID string) ([]study.Reading, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	out := m.readingsOf(hipID)
	for i := range out {
		out[i] = out[i].Bare()
	}
	return out, nil
}

// Points implements study.Store.
func (m *Memory) Points(ctx context.Context, readingID string) (study.Points, error) {
	if err := m.begin(ctx, false); err != nil {
		return study.Points{}, err
	}
	defer m.lock.Unlock()
	i := slices.IndexFunc(m.readings, func(r study.Reading) bool { return r.ID == readingID })
	if i < 0 {
		return study.Points{}, study.ErrUnknown
	}
	return m.readings[i].Points(), nil
}

// AddNext implements study.Store.
func (m *Memory) AddNext(ctx context.Context, r study.Reading) error {
	list, err := m.Readings(ctx, r.HipID)
	if err != nil {
		return err
	}
	latest := ""
	for _, o := range list {
		if o.FilmID == r.FilmID && o.Reader == r.Reader && o.Status == study.Measured && o.Listed.List == "" && o.Stands() {
			latest = o.ID
		}
	}
	if latest != r.Supersedes {
		return study.ErrReadSince
	}
	return m.AddReading(ctx, r)
}

// AddReading implements study.Store.
func (m *Memory) AddReading(ctx context.Context, r study.Reading) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	switch {
	case r.ID == "" || slices.ContainsFunc(m.readings, func(o study.Reading) bool { return o.ID == r.ID }):
		return errors.New("storetest: a reading with this id exists")
	case r.Film.ID != "" && r.Film.ID != r.FilmID:
		return errors.New("storetest: a reading names two films")
	case !m.linked(r.HipID, r.FilmID):
		return study.ErrUnknown
	case r.Supersedes != "" && !slices.ContainsFunc(m.readings, func(o study.Reading) bool {
		return o.ID == r.Supersedes && o.HipID == r.HipID && o.FilmID == r.FilmID
	}):
		return errors.New("storetest: the superseded reading is not one of this hip and film")
	case r.Status != study.Measured && r.Status != study.Refused && r.Status != study.Failed:
		return errors.New("storetest: no status")
	case !finite(r.Head) || !finite(r.Cup) || math.IsNaN(r.HeadMM):
		return errors.New("storetest: a reading is not of finite numbers")
	}
	if r.Listed != (study.Listed{}) {
		if err := m.checkPlace(r.Listed.List, r.Listed.Place, false, func(l study.List) error { return l.Check(r) }); err != nil {
			return err
		}
	}
	r.Kept = r.Bare().Kept
	m.readings = append(m.readings, r)
	m.trace("reading", r.ID, nil, r.At, study.Stamp{Reader: r.Reader, At: r.At, Version: r.Version})
	return nil
}

// AddWithdrawal implements study.Store.
func (m *Memory) AddWithdrawal(ctx context.Context, w study.Withdrawal) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	i := slices.IndexFunc(m.readings, func(r study.Reading) bool { return r.ID == w.ReadingID })
	if i < 0 {
		return study.ErrUnknown
	}
	m.withdrawals++
	m.trace("withdrawal", fmt.Sprint(m.withdrawals), nil, w, study.Stamp{Reader: w.Reader, At: w.At, Version: w.Version})
	if m.readings[i].Withdrawn = &w; w.Back {
		m.readings[i].Withdrawn = nil
	}
	return nil
}

func (m *Memory) record(h study.Hip) study.Record {
	r := study.Record{Hip: h, Films: m.filmsOf(h.ID), Links: m.linksOf(h.ID), Readings: m.readingsOf(h.ID)}
	r.Exclusions = where(m.exclusions, func(e study.Exclusion) bool { return e.HipID == h.ID })
	r.Unaccepted = where(m.drafts, func(d study.Draft) bool { return d.HipID == h.ID })
	slices.SortFunc(r.Unaccepted, func(a, b study.Draft) int {
		return cmp.Or(cmp.Compare(a.FilmID, b.FilmID), cmp.Compare(a.Kind, b.Kind))
	})
	r.Drafts = len(where(r.Unaccepted, func(d study.Draft) bool { return d.Kind == study.Edited }))
	r.Events, r.Grades = m.eventsOf(h.ID), m.gradesOf(h.ID)
	if r.Patient = m.kept.patients[h.PatientID()]; r.Patient.Revision == 0 {
		r.Patient = study.Patient{Site: h.Site, Code: h.Patient}
	}
	r.Values = slices.Concat(m.valuesOf(study.OfPatient, h.PatientID()), m.valuesOf(study.OfHip, h.ID))
	for _, f := range r.Films {
		r.Values = append(r.Values, m.valuesOf(study.OfFilm, f.ID)...)
	}
	if !r.Rereads() {
		for i := range r.Readings {
			r.Readings[i] = r.Readings[i].Bare()
		}
	}
	return r
}

// Record implements study.Store.
func (m *Memory) Record(ctx context.Context, hipID string) (study.Record, error) {
	if err := m.begin(ctx, false); err != nil {
		return study.Record{}, err
	}
	defer m.lock.Unlock()
	m.Asked = append(m.Asked, hipID)
	i := slices.IndexFunc(m.hips, func(h study.Hip) bool { return h.ID == hipID })
	if i < 0 {
		return study.Record{}, study.ErrUnknown
	}
	return m.record(m.hips[i]), nil
}

// Records implements study.Store.
func (m *Memory) Records(ctx context.Context, each func(study.Record) error) error {
	hips, err := m.Hips(ctx)
	if err != nil {
		return err
	}
	m.lock.Lock()
	m.Asked = append(m.Asked, "")
	var all []study.Record
	for _, h := range hips {
		all = append(all, m.record(h))
	}
	m.lock.Unlock()
	for _, r := range all {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}
