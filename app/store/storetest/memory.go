package storetest

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"sync"

	"linerwatch/app/study"
)

// Memory is a study that is kept in memory, for tests of what works on a store. The zero
// value is an empty one. It may be used by several goroutines.
type Memory struct {
	Fail   error    // of everything that writes, which then writes nothing
	Asked  []string // hips whose Record was read, "" for Records
	Closed bool

	lock        sync.Mutex
	hips        []study.Hip
	films       []study.Film
	links       []study.Link
	readings    []study.Reading // with their edge points
	drafts      []study.Draft
	exclusions  []study.Exclusion
	lists       []study.List
	listDrafts  []study.ListDraft
	settings    map[string]string
	hipChanges  map[string][]study.HipChange
	filmChanges map[string][]study.FilmChange
	numbers     map[string]int
	kept        kept
	trail       []study.TrailRow
	withdrawals int
}

var _ study.Store = (*Memory)(nil)

// begin locks m. A write fails where it is to, and where ctx has ended.
func (m *Memory) begin(ctx context.Context, write bool) error {
	m.lock.Lock()
	err := ctx.Err()
	if write && err == nil {
		err = m.Fail
	}
	if err != nil {
		m.lock.Unlock()
	}
	return err
}

func where[T any](list []T, is func(T) bool) (out []T) {
	for _, v := range list {
		if is(v) {
			out = append(out, v)
		}
	}
	return out
}

// put replaces the value that is the same, or adds it.
func put[T any](list []T, v T, same func(T) bool) []T {
	if i := slices.IndexFunc(list, same); i >= 0 {
		list[i] = v
		return list
	}
	return append(list, v)
}

// number returns an ID that has not been given yet.
func (m *Memory) number(letter string, taken func(id string) bool) string {
	if m.numbers == nil {
		m.numbers = map[string]int{}
	}
	for {
		m.numbers[letter]++
		if id := fmt.Sprint(letter, m.numbers[letter]); !taken(id) {
			return id
		}
	}
}

// Hips implements study.Store.
func (m *Memory) Hips(ctx context.Context) ([]study.Hip, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	out := slices.Clone(m.hips)
	slices.SortFunc(out, func(a, b study.Hip) int {
		return cmp.Or(cmp.Compare(a.Site, b.Site), cmp.Compare(a.Patient, b.Patient), -strings.Compare(a.Side.String(), b.Side.String()), cmp.Compare(a.ID, b.ID))
	})
	return out, nil
}

// SaveHip implements study.Store.
func (m *Memory) SaveHip(ctx context.Context, h study.Hip, by study.Stamp) (study.Hip, error) {
	return set(ctx, m, h, func(h study.Hip) (study.Hip, error) { return m.saveHip(h, by) })
}

func (m *Memory) saveHip(h study.Hip, by study.Stamp) (study.Hip, error) {
	saved := h
	if saved.ID == "" {
		saved.ID = m.number("H", func(id string) bool {
			return slices.ContainsFunc(m.hips, func(o study.Hip) bool { return o.ID == id })
		})
	}
	var before study.Hip
	same := func(o study.Hip) bool { return o.ID == saved.ID }
	if i := slices.IndexFunc(m.hips, same); i >= 0 {
		before = m.hips[i]
	}
	switch {
	case before.Revision != h.Revision && before.ID == "":
		return h, study.ErrUnknown
	case before.Revision != h.Revision:
		return h, &study.ConflictError{Mine: h, Theirs: before}
	}
	saved.Revision++
	saved.Until = before.Until
	m.hips = put(m.hips, saved, same)
	if m.hipChanges == nil {
		m.hipChanges = map[string][]study.HipChange{}
	}
	m.trace("hip", saved.ID, orNil(before, before.Revision > 0), saved, by)
	m.hipChanges[saved.ID] = append(m.hipChanges[saved.ID], study.HipChange{Stamp: by, Before: before})
	return saved, nil
}

// HipChanges implements study.Store.
func (m *Memory) HipChanges(ctx context.Context, hipID string) ([]study.HipChange, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return slices.Clone(m.hipChanges[hipID]), nil
}

// linked reports whether a film is one of a hip.
func (m *Memory) linked(hipID, filmID string) bool {
	return slices.ContainsFunc(m.links, func(l study.Link) bool { return l.HipID == hipID && l.FilmID == filmID })
}

func (m *Memory) filmsOf(hipID string) []study.Film {
	out := where(m.films, func(f study.Film) bool { return m.linked(hipID, f.ID) })
	study.SortFilms(out)
	return out
}

// Films implements study.Store.
func (m *Memory) Films(ctx context.Context, hipID string) ([]study.Film, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return m.filmsOf(hipID), nil
}

// Unsorted implements study.Store.
func (m *Memory) Unsorted(ctx context.Context) ([]study.Film, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	out := where(m.films, func(f study.Film) bool {
		return !slices.ContainsFunc(m.links, func(l study.Link) bool { return l.FilmID == f.ID })
	})
	study.SortFilms(out)
	return out, nil
}

func (m *Memory) byPixels(file study.Facts) (study.Film, bool) {
	i := slices.IndexFunc(m.films, func(f study.Film) bool { return f.Facts.SamePicture(file) })
	if i < 0 {
		return study.Film{}, false
	}
	return m.films[i], true
}

// FilmByPixels implements study.Store.
func (m *Memory) FilmByPixels(ctx context.Context, file study.Facts) (study.Film, bool, error) {
	if err := m.begin(ctx, false); err != nil {
		return study.Film{}, false, err
	}
	defer m.lock.Unlock()
	f, ok := m.byPixels(file)
	return f, ok, nil
}

// SaveFilm implements study.Store.
func (m *Memory) SaveFilm(ctx context.Context, f study.Film, by study.Stamp) (study.Film, error) {
	if err := m.begin(ctx, true); err != nil {
		return f, err
	}
	defer m.lock.Unlock()
	return m.saveFilm(f, by)
}

// AddFilms implements study.Store.
func (m *Memory) AddFilms(ctx context.Context, list []study.Film, by study.Stamp) (saved []study.Film, err error) {
	if err := m.begin(ctx, true); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	if slices.ContainsFunc(list, func(f study.Film) bool { return f.ID != "" || f.Revision != 0 }) {
		return nil, study.ErrUnknown
	}
	for _, f := range list {
		f, err := m.saveFilm(f, by)
		if double, ok := errors.AsType[*study.DoubleError](err); ok {
			f = double.Film
		}
		saved = append(saved, f)
	}
	return saved, nil
}

func (m *Memory) saveFilm(f study.Film, by study.Stamp) (study.Film, error) {
	saved := f
	if saved.ID == "" {
		saved.ID = m.number("F", func(id string) bool {
			return slices.ContainsFunc(m.films, func(o study.Film) bool { return o.ID == id })
		})
	}
	var before study.Film
	same := func(o study.Film) bool { return o.ID == saved.ID }
	if i := slices.IndexFunc(m.films, same); i >= 0 {
		before = m.films[i]
	}
	switch twin, is := m.byPixels(f.Facts); {
	case before.Revision != f.Revision && before.ID == "":
		return f, study.ErrUnknown
	case before.Revision != f.Revision:
		return f, &study.ConflictError{Mine: f, Theirs: before}
	case is && twin.ID != saved.ID:
		return f, &study.DoubleError{Film: twin}
	}
	saved.Revision++
	m.films = put(m.films, saved, same)
	if m.filmChanges == nil {
		m.filmChanges = map[string][]study.FilmChange{}
	}
	m.trace("film", saved.ID, orNil(before, before.Revision > 0), saved, by)
	m.filmChanges[saved.ID] = append(m.filmChanges[saved.ID], study.FilmChange{Stamp: by, Before: before})
	return saved, nil
}

// FilmChanges implements study.Store.
func (m *Memory) FilmChanges(ctx context.Context, filmID string) ([]study.FilmChange, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return slices.Clone(m.filmChanges[filmID]), nil
}

// drop forgets the links of a film that is says so of, where nothing rests on it.
func (m *Memory) drop(filmID string, is func(hipID string) bool, by study.Stamp) error {
	for _, r := range m.readings {
		if r.FilmID == filmID && is(r.HipID) {
			return study.ErrRests
		}
	}
	for _, e := range m.exclusions {
		if e.FilmID == filmID && is(e.HipID) {
			return study.ErrRests
		}
	}
	for _, g := range m.kept.grades {
		if g.FilmID == filmID && is(g.HipID) {
			return study.ErrRests
		}
	}
	m.drafts = where(m.drafts, func(d study.Draft) bool { return d.FilmID != filmID || !is(d.HipID) })
	for _, l := range m.links {
		if l.FilmID == filmID && is(l.HipID) {
			m.trace("link", l.HipID+"/"+l.FilmID, l, nil, by)
		}
	}
	m.links = where(m.links, func(l study.Link) bool { return l.FilmID != filmID || !is(l.HipID) })
	return nil
}

// DropFilm implements study.Store.
func (m *Memory) DropFilm(ctx context.Context, filmID string, by study.Stamp) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	err := m.drop(filmID, func(string) bool { return true }, by)
	if err == nil {
		for _, f := range m.films {
			if f.ID == filmID {
				m.trace("film", filmID, f, nil, by)
			}
		}
		m.films = where(m.films, func(f study.Film) bool { return f.ID != filmID })
		maps.DeleteFunc(m.kept.values, func(v study.Value, _ string) bool { return v.Of == study.OfFilm && v.ID == filmID })
	}
	return err
}

// Links implements study.Store.
func (m *Memory) Links(ctx context.Context, hipID string) ([]study.Link, error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	return m.linksOf(hipID), nil
}

func (m *Memory) linksOf(hipID string) (out []study.Link) {
	for _, f := range m.filmsOf(hipID) {
		out = append(out, where(m.links, func(l study.Link) bool { return l.HipID == hipID && l.FilmID == f.ID })...)
	}
	return out
}

// HipsOf implements study.Store.
func (m *Memory) HipsOf(ctx context.Context, filmID string) (out []string, err error) {
	if err := m.begin(ctx, false); err != nil {
		return nil, err
	}
	defer m.lock.Unlock()
	for _, l := range where(m.links, func(l study.Link) bool { return l.FilmID == filmID }) {
		out = append(out, l.HipID)
	}
	slices.Sort(out)
	return out, nil
}

// SaveLink implements study.Store.
func (m *Memory) SaveLink(ctx context.Context, l study.Link, by study.Stamp) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	switch {
	case !slices.ContainsFunc(m.hips, func(h study.Hip) bool { return h.ID == l.HipID }),
		!slices.ContainsFunc(m.films, func(f study.Film) bool { return f.ID == l.FilmID }):
		return study.ErrUnknown
	}
	var before any
	for _, o := range m.links {
		if o.HipID == l.HipID && o.FilmID == l.FilmID {
			before = o
		}
	}
	m.trace("link", l.HipID+"/"+l.FilmID, before, l, by)
	m.links = put(m.links, l, func(o study.Link) bool { return o.HipID == l.HipID && o.FilmID == l.FilmID })
	return nil
}

// DropLink implements study.Store.
func (m *Memory) DropLink(ctx context.Context, hipID, filmID string, by study.Stamp) error {
	if err := m.begin(ctx, true); err != nil {
		return err
	}
	defer m.lock.Unlock()
	return m.drop(filmID, func(id string) bool { return id == hipID }, by)
}

// Check implements study.Store.
func (m *Memory) Check(ctx context.Context) error { return ctx.Err() }

// SaveAs implements study.Store; the new file is empty, since nothing opens it.
func (m *Memory) SaveAs(ctx context.Context, path string) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// Close implements study.Store.
func (m *Memory) Close() error {
	m.lock.Lock()
	defer m.lock.Unlock()
	m.Closed = true
	return nil
}

func finite(o study.Outline) bool {
	for _, v := range []float64{o.X, o.Y, o.R, o.RMS, o.Arc} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}

// Version implements study.Store; no other program has it open.
func (m *Memory) Version(ctx context.Context) (int64, error) { return 0, ctx.Err() }
