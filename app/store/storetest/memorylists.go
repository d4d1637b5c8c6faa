package storetest

import (
	"context"
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
