package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// memory store: what a study file keeps, by path, for tests.
var (
	memoryLock  sync.Mutex
	memoryFiles = map[string]*memoryStore{}
)

type memoryStore struct {
	hips       []study.Hip
	films      []study.Film
	readings   []study.Reading
	fail       error                  // of the next AddReading
	drafts     map[string]study.Draft // by hip and film
	exclusions []study.Exclusion
	withdrawn  []study.Withdrawal
	asked      []string // hips whose readings were read
	lock       sync.Mutex
	settings   map[string]string
	closed     bool
}

func openMemory(path string) (study.Store, error) {
	memoryLock.Lock()
	defer memoryLock.Unlock()
	if memoryFiles[path] == nil {
		if err := os.WriteFile(path, nil, 0o600); err != nil {
			return nil, err
		}
		memoryFiles[path] = &memoryStore{}
	}
	memoryFiles[path].closed = false
	return memoryFiles[path], nil
}

func (m *memoryStore) Hips(context.Context) ([]study.Hip, error) { return m.hips, nil }

func (m *memoryStore) SaveHip(_ context.Context, h study.Hip) error {
	for i := range m.hips {
		if m.hips[i].ID == h.ID {
			m.hips[i] = h
			return nil
		}
	}
	m.hips = append(m.hips, h)
	return nil
}

func (m *memoryStore) Films(_ context.Context, hip string) (out []study.Film, err error) {
	for _, f := range m.films {
		if f.HipID == hip {
			out = append(out, f)
		}
	}
	return out, nil
}

func (m *memoryStore) SaveFilm(_ context.Context, f study.Film) error {
	for i := range m.films {
		if m.films[i].ID == f.ID {
			m.films[i] = f
			return nil
		}
	}
	m.films = append(m.films, f)
	return nil
}

func (m *memoryStore) Readings(_ context.Context, hip string) (out []study.Reading, err error) {
	m.lock.Lock()
	m.asked = append(m.asked, hip)
	m.lock.Unlock()
	for _, r := range m.readings {
		for _, f := range m.films {
			if f.ID == r.FilmID && f.HipID == hip {
				out = append(out, r)
			}
		}
	}
	return out, nil
}

func (m *memoryStore) AddReading(_ context.Context, r study.Reading) error {
	if m.fail != nil {
		return m.fail
	}
	for _, old := range m.readings {
		if old.ID == r.ID {
			return errors.New("store: reading exists")
		}
	}
	m.readings = append(m.readings, r)
	return nil
}

func (m *memoryStore) AddWithdrawal(_ context.Context, w study.Withdrawal) error {
	if m.fail != nil {
		return m.fail
	}
	m.withdrawn = append(m.withdrawn, w)
	for i := range m.readings {
		if r := &m.readings[i]; r.ID == w.ReadingID {
			if r.Withdrawn = &w; w.Back {
				r.Withdrawn = nil
			}
		}
	}
	return nil
}

func (m *memoryStore) Close() error { m.closed = true; return nil }

// touch makes an empty file, so that it can be found in its folder.
func touch(t testing.TB, dir, name string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(path, []byte("film"), 0o600))
	return path
}
