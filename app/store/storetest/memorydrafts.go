package storetest

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// Drafts implements study.Store.
func (m *Memory) Drafts(ctx context.Context, hipID string) ([]study.Draft, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	out := where(m.drafts, func(d study.Draft) bool { return d.HipID == hipID })
	slices.SortStableFunc(out, func(a, b study.Draft) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.FilmID, b.FilmID), cmp.Compare(a.Kind, b.Kind))
	})
	return out, nil
}

// SaveDraft implements study.Store.
func (m *Memory) SaveDraft(ctx context.Context, d study.Draft) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	switch {
	case !m.linked(d.HipID, d.FilmID):
		return study.ErrUnknown
	case !json.Valid(d.Outlines) || d.Kind != study.Proposed && d.Kind != study.Edited:
		return errors.New("storetest: half a draft")
	}
	m.drafts = put(m.drafts, d, func(o study.Draft) bool { return o.HipID == d.HipID && o.FilmID == d.FilmID && o.Kind == d.Kind })
	return nil
}

// DropDraft implements study.Store.
func (m *Memory) DropDraft(ctx context.Context, hipID, filmID string, kind study.DraftKind) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	m.drafts = where(m.drafts, func(d study.Draft) bool { return d.HipID != hipID || d.FilmID != filmID || d.Kind != kind })
	return nil
}

// Exclusions implements study.Store.
func (m *Memory) Exclusions(ctx context.Context, hipID string) ([]study.Exclusion, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return where(m.exclusions, func(e study.Exclusion) bool { return e.HipID == hipID }), nil
}

// AddExclusion implements study.Store.
func (m *Memory) AddExclusion(ctx context.Context, e study.Exclusion) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	if !m.linked(e.HipID, e.FilmID) {
		return study.ErrUnknown
	}
	if e.List != "" {
		if err := m.checkPlace(e.List, e.Place, e.Code == "", func(l study.List) error { return l.CheckExclusion(e) }); err != nil {
			return err
		}
	}
	m.exclusions = append(m.exclusions, e)
	m.trace("exclusion", fmt.Sprint(len(m.exclusions)), nil, e, study.Stamp{Reader: e.Reader, At: e.At, Version: e.Version})
	return nil
}

// Setting implements study.Store.
func (m *Memory) Setting(ctx context.Context, key string) (string, bool, error) {
	if err := m.begin(ctx, false); err != nil {
		return "", false, err
	}
	defer m.lock.Unlock()
	v, ok := m.settings[key]
	return v, ok, nil
}

// SetSetting implements study.Store.
func (m *Memory) SetSetting(ctx context.Context, key, value string, by study.Stamp) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	if m.settings == nil {
		m.settings = map[string]string{}
	}
	before, is := m.settings[key]
	m.trace("setting", key, orNil(before, is), value, by)
	m.settings[key] = value
	return nil
}
