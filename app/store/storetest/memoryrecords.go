package storetest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// kept is what a store in memory keeps by revision.
type kept struct {
	patients  map[string]study.Patient
	sites     map[string]study.Site
	variables map[string]study.Variable
	values    map[study.Value]string // by value without text
	events    []study.Event
	grades    []study.Grade
}

func (k kept) clone() kept {
	return kept{maps.Clone(k.patients), maps.Clone(k.sites), maps.Clone(k.variables), maps.Clone(k.values), slices.Clone(k.events), slices.Clone(k.grades)}
}

// revise keeps v under a key where its revision is that of what is kept.
func revise[T study.Revised](m *Memory, what string, in *map[string]T, key string, v T, revision func(*T) *int, by study.Stamp) (T, error) {
	before, is := (*in)[key]
	switch {
	case *revision(&v) != *revision(&before) && !is:
		return v, study.ErrUnknown
	case *revision(&v) != *revision(&before):
		return v, &study.ConflictError{Mine: v, Theirs: before}
	}
	if *in == nil {
		*in = map[string]T{}
	}
	saved := v
	*revision(&saved)++
	(*in)[key] = saved
	m.trace(what, key, orNil(before, is), saved, by)
	return saved, nil
}

func ordered[T any](in map[string]T) (out []T) {
	for _, key := range slices.Sorted(maps.Keys(in)) {
		out = append(out, in[key])
	}
	return out
}

// get reads something while m is locked.
func get[T any](ctx context.Context, m *Memory, read func() T) (v T, err error) {
	if err := m.begin(ctx, false); err != nil {
		return v, err
	}
	defer m.lock.Unlock()
	return read(), nil
}

// set writes something while m is locked.
func set[T any](ctx context.Context, m *Memory, v T, write func(T) (T, error)) (T, error) {
	if err := m.begin(ctx, true); err != nil {
		return v, err
	}
	defer m.lock.Unlock()
	saved, err := write(v)
	if err != nil {
		return v, err
	}
	return saved, nil
}

// Patients implements study.Store.
func (m *Memory) Patients(ctx context.Context) ([]study.Patient, error) {
	return get(ctx, m, func() []study.Patient {
		list := ordered(m.kept.patients)
		slices.SortFunc(list, func(a, b study.Patient) int { return cmp.Or(cmp.Compare(a.Site, b.Site), cmp.Compare(a.Code, b.Code)) })
		return list
	})
}

// SavePatient implements study.Store.
func (m *Memory) SavePatient(ctx context.Context, p study.Patient, by study.Stamp) (study.Patient, error) {
	return set(ctx, m, p, func(p study.Patient) (study.Patient, error) { return m.savePatient(p, by) })
}

func (m *Memory) savePatient(p study.Patient, by study.Stamp) (study.Patient, error) {
	if p.Code == "" || strings.Contains(p.Site, "/") {
		return p, errors.New("storetest: no patient")
	}
	return revise(m, "patient", &m.kept.patients, p.ID(), p, func(p *study.Patient) *int { return &p.Revision }, by)
}

// Sites implements study.Store.
func (m *Memory) Sites(ctx context.Context) ([]study.Site, error) {
	return get(ctx, m, func() []study.Site { return ordered(m.kept.sites) })
}

// SaveSite implements study.Store.
func (m *Memory) SaveSite(ctx context.Context, s study.Site, by study.Stamp) (study.Site, error) {
	return set(ctx, m, s, func(s study.Site) (study.Site, error) { return m.saveSite(s, by) })
}

func (m *Memory) saveSite(s study.Site, by study.Stamp) (study.Site, error) {
	if s.Code == "" || strings.Contains(s.Code, "/") {
		return s, errors.New("storetest: no site")
	}
	return revise(m, "site", &m.kept.sites, s.Code, s, func(s *study.Site) *int { return &s.Revision }, by)
}

// Variables implements study.Store.
func (m *Memory) Variables(ctx context.Context) ([]study.Variable, error) {
	return get(ctx, m, func() []study.Variable { return ordered(m.kept.variables) })
}

// SaveVariable implements study.Store.
func (m *Memory) SaveVariable(ctx context.Context, v study.Variable, by study.Stamp) (study.Variable, error) {
	return set(ctx, m, v, func(v study.Variable) (study.Variable, error) { return m.saveVariable(v, by) })
}

func (m *Memory) saveVariable(v study.Variable, by study.Stamp) (study.Variable, error) {
	for o, text := range m.kept.values {
		if o.Of == v.Of && o.Name == v.Name && v.Check(text) != nil {
			return v, v.Check(text)
		}
	}
	return revise(m, "variable", &m.kept.variables, string(v.Of)+" "+v.Name, v, func(v *study.Variable) *int { return &v.Revision }, by)
}

// Values implements study.Store.
func (m *Memory) Values(ctx context.Context, of study.VariableOf, id string) ([]study.Value, error) {
	return get(ctx, m, func() []study.Value { return m.valuesOf(of, id) })
}

func (m *Memory) valuesOf(of study.VariableOf, id string) (out []study.Value) {
	for v, text := range m.kept.values {
		if v.Of == of && v.ID == id {
			v.Text = text
			out = append(out, v)
		}
	}
	slices.SortFunc(out, func(a, b study.Value) int { return cmp.Compare(a.Name, b.Name) })
	return out
}

// SetValues implements study.Store.
func (m *Memory) SetValues(ctx context.Context, list []study.Value, by study.Stamp) error {
	_, err := set(ctx, m, list, func([]study.Value) ([]study.Value, error) {
		before, told := m.kept.clone(), m.trail
		err := m.setValues(list, by)
		if err != nil {
			m.kept, m.trail = before, told
		}
		return list, err
	})
	return err
}

func (m *Memory) setValues(list []study.Value, by study.Stamp) error {
	for _, v := range list {
		if err := study.CheckValue(ordered(m.kept.variables), v); err != nil {
			return err
		}
		if !m.has(v) {
			return study.ErrUnknown
		}
		text := v.Text
		v.Text = ""
		if m.kept.values == nil {
			m.kept.values = map[study.Value]string{}
		}
		before, is := m.kept.values[v]
		m.trace("value", string(v.Of)+" "+v.ID+" "+v.Name, orNil(before, is), orNil(text, text != ""), by)
		if m.kept.values[v] = text; text == "" {
			delete(m.kept.values, v)
		}
	}
	return nil
}

// has reports whether the study has what a value is of.
func (m *Memory) has(v study.Value) bool {
	switch v.Of {
	case study.OfPatient:
		_, ok := m.kept.patients[v.ID]
		return ok
	case study.OfHip:
		return m.hipOf(v.ID) >= 0
	}
	return slices.ContainsFunc(m.films, func(f study.Film) bool { return f.ID == v.ID })
}

func (m *Memory) hipOf(id string) int {
	return slices.IndexFunc(m.hips, func(h study.Hip) bool { return h.ID == id })
}

// Events implements study.Store.
func (m *Memory) Events(ctx context.Context, hipID string) ([]study.Event, error) {
	return get(ctx, m, func() []study.Event { return m.eventsOf(hipID) })
}

func (m *Memory) eventsOf(hipID string) []study.Event {
	return where(m.kept.events, func(e study.Event) bool { return e.HipID == hipID })
}

// AddEvent implements study.Store.
func (m *Memory) AddEvent(ctx context.Context, e study.Event) (study.Event, error) {
	return set(ctx, m, e, m.addEvent)
}

func (m *Memory) addEvent(e study.Event) (study.Event, error) {
	known := slices.ContainsFunc(study.EventKinds(), func(c study.Choice) bool { return c.Code == string(e.Kind) })
	back := slices.ContainsFunc(m.eventsOf(e.HipID), func(o study.Event) bool { return o.ID == e.TakesBack })
	hip := m.hipOf(e.HipID)
	switch {
	case e.ID != "" || hip < 0 || e.TakesBack != "" && !back:
		return e, study.ErrUnknown
	case e.TakesBack == "" && (!known || e.Date.IsZero()):
		return e, errors.New("storetest: half an event")
	}
	e.ID = fmt.Sprint("E", len(m.kept.events)+1)
	m.kept.events = append(m.kept.events, e)
	m.trace("event", e.ID, nil, e, e.Stamp)
	m.hips[hip].Until = study.UntilOf(m.eventsOf(e.HipID))
	return e, nil
}

// Grades implements study.Store.
func (m *Memory) Grades(ctx context.Context, hipID string) ([]study.Grade, error) {
	return get(ctx, m, func() []study.Grade { return m.gradesOf(hipID) })
}

func (m *Memory) gradesOf(hipID string) []study.Grade {
	return where(m.kept.grades, func(g study.Grade) bool { return g.HipID == hipID })
}

// AddGrade implements study.Store.
func (m *Memory) AddGrade(ctx context.Context, g study.Grade) error {
	_, err := set(ctx, m, g, func(g study.Grade) (study.Grade, error) {
		switch {
		case !m.linked(g.HipID, g.FilmID):
			return g, study.ErrUnknown
		case !slices.ContainsFunc(study.Qualities(), func(c study.Choice) bool { return c.Code == g.Quality }):
			return g, errors.New("storetest: no grade")
		}
		m.kept.grades = append(m.kept.grades, g)
		m.trace("grade", fmt.Sprint(len(m.kept.grades)), nil, g, g.Stamp)
		return g, nil
	})
	return err
}

// Enter implements study.Store.
func (m *Memory) Enter(ctx context.Context, e study.Entries, by study.Stamp) (study.Entries, error) {
	return set(ctx, m, e, func(e study.Entries) (saved study.Entries, err error) {
		before, hips, changes, told := m.kept.clone(), slices.Clone(m.hips), maps.Clone(m.hipChanges), m.trail
		if saved, err = m.enter(e, by); err != nil {
			m.kept, m.hips, m.hipChanges, m.trail = before, hips, changes, told
		}
		return saved, err
	})
}

func (m *Memory) enter(e study.Entries, by study.Stamp) (saved study.Entries, err error) {
	saved.Values = e.Values
	if saved.Sites, err = eachOf(e.Sites, func(s study.Site) (study.Site, error) { return m.saveSite(s, by) }); err != nil {
		return saved, err
	}
	if saved.Patients, err = eachOf(e.Patients, func(p study.Patient) (study.Patient, error) { return m.savePatient(p, by) }); err != nil {
		return saved, err
	}
	if saved.Hips, err = eachOf(e.Hips, func(h study.Hip) (study.Hip, error) { return m.saveHip(h, by) }); err != nil {
		return saved, err
	}
	if saved.Variables, err = eachOf(e.Variables, func(v study.Variable) (study.Variable, error) { return m.saveVariable(v, by) }); err != nil {
		return saved, err
	}
	if err := m.setValues(e.Values, by); err != nil {
		return saved, err
	}
	saved.Events, err = eachOf(e.Events, m.addEvent)
	return saved, err
}

func eachOf[T any](list []T, save func(T) (T, error)) (out []T, err error) {
	for _, v := range list {
		if v, err = save(v); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}
