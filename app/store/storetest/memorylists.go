package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"linerwatch/app/study"
)

// Lists implements study.Store.
func (m *Memory) Lists(ctx context.Context) ([]study.List, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return slices.Clone(m.lists), nil
}

// AddLists implements study.Store.
func (m *Memory) AddLists(ctx context.Context, lists []study.List, by study.Stamp) (saved []study.List, err error) {
	if err := m.begin(ctx, true); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	for _, l := range lists {
		l.ID, l.Made, l.Opened = fmt.Sprint("L", len(m.lists)+len(saved)+1), by, nil
		for _, o := range slices.Concat(m.lists, saved) {
			if o.Reader == l.Reader && o.Left(o.DoneOf(m.readings, m.exclusions)) > 0 {
				return nil, o.StillRead()
			}
		}
		for _, p := range l.Places {
			if !m.linked(p.HipID, p.FilmID) {
				return nil, study.ErrUnknown
			}
		}
		saved = append(saved, l)
	}
	m.lists = append(m.lists, saved...)
	return saved, nil
}

// ListDone implements study.Store.
func (m *Memory) ListDone(ctx context.Context, listID string) (study.Done, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return study.List{ID: listID}.DoneOf(m.readings, m.exclusions), nil
}

// checkPlace refuses what a list does not ask for, and a place that is done unless again.
func (m *Memory) checkPlace(list string, place int, again bool, check func(study.List) error) error {
	i := slices.IndexFunc(m.lists, func(l study.List) bool { return l.ID == list })
	if i < 0 {
		return study.ErrUnknown
	}
	if err := check(m.lists[i]); err != nil {
		return err
	}
	if _, done := m.lists[i].DoneOf(m.readings, m.exclusions)[place]; done && !again {
		return study.ErrPlaceDone
	}
	return nil
}

// AddUnblinding implements study.Store.
func (m *Memory) AddUnblinding(ctx context.Context, u study.Unblinding) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	i := slices.IndexFunc(m.lists, func(l study.List) bool { return l.ID == u.ListID })
	switch {
	case i < 0:
		return study.ErrUnknown
	case m.lists[i].Opened != nil:
		return study.ErrListClosed
	}
	m.lists[i].Opened = &u
	return nil
}

// ListDraft implements study.Store.
func (m *Memory) ListDraft(ctx context.Context, listID string, place int) (d study.ListDraft, ok bool, err error) {
	if err := m.begin(ctx, false); err != nil {
		return d, false, err
	}
	defer m.lock.Unlock()
	for _, d := range m.listDrafts {
		if d.ListID == listID && d.Place == place {
			return d, true, nil
		}
	}
	return d, false, nil
}

// SaveListDraft implements study.Store.
func (m *Memory) SaveListDraft(ctx context.Context, d study.ListDraft) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	if !slices.ContainsFunc(m.lists, func(l study.List) bool { return l.ID == d.ListID }) {
		return study.ErrUnknown
	}
	if !json.Valid(d.Outlines) || d.Place < 1 {
		return errors.New("storetest: half a draft")
	}
	m.listDrafts = put(m.listDrafts, d, func(o study.ListDraft) bool { return o.ListID == d.ListID && o.Place == d.Place })
	return nil
}

// DropListDraft implements study.Store.
func (m *Memory) DropListDraft(ctx context.Context, listID string, place int) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	m.listDrafts = where(m.listDrafts, func(d study.ListDraft) bool { return d.ListID != listID || d.Place != place })
	return nil
}
