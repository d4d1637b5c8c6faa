package session

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// memoryFiles are study files that are kept in memory, by path, for tests.
var (
	memoryLock  sync.Mutex
	memoryFiles = map[string]*storetest.Memory{}
)

// inMemory opens and creates them; a file at the path says that there is one.
var inMemory = study.Files{Open: openMemory, Create: createMemory}

func openMemory(_ context.Context, path string, _ study.Progress) (study.Store, error) {
	memoryLock.Lock()
	defer memoryLock.Unlock()
	if memoryFiles[path] == nil {
		return nil, errors.New("not a study file")
	}
	return memoryFiles[path], nil
}

func createMemory(path string) (study.Store, error) {
	memoryLock.Lock()
	defer memoryLock.Unlock()
	f, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return nil, err
	}
	memoryFiles[path] = new(storetest.Memory)
	return memoryFiles[path], f.Close()
}

// everyHip gathers what read returns of each hip of a study.
func everyHip[T any](t *testing.T, st study.Store, read func(hipID string) ([]T, error)) (out []T) {
	t.Helper()
	hips, err := st.Hips(t.Context())
	require.NoError(t, err)
	for _, h := range hips {
		list, err := read(h.ID)
		require.NoError(t, err)
		out = append(out, list...)
	}
	return out
}

func readingsIn(t *testing.T, st study.Store) []study.Reading {
	return everyHip(t, st, func(id string) ([]study.Reading, error) { return st.Readings(t.Context(), id) })
}

func filmsIn(t *testing.T, st study.Store) []study.Film {
	return everyHip(t, st, func(id string) ([]study.Film, error) { return st.Films(t.Context(), id) })
}

// draftsIn returns the unfinished work of readers.
func draftsIn(t *testing.T, st study.Store) []study.Draft {
	list := everyHip(t, st, func(id string) ([]study.Draft, error) { return st.Drafts(t.Context(), id) })
	return slices.DeleteFunc(list, func(d study.Draft) bool { return d.Kind != study.Edited })
}

func exclusionsIn(t *testing.T, st study.Store) []study.Exclusion {
	return everyHip(t, st, func(id string) ([]study.Exclusion, error) { return st.Exclusions(t.Context(), id) })
}

// touch makes an empty file, so that it can be found in its folder.
func touch(t testing.TB, dir, name string) string {
	t.Helper()
	path := filepath.Join(dir, name)
	require.NoError(t, os.WriteFile(path, []byte("film"), 0o600))
	return path
}
