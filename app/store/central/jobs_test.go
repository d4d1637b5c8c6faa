package central

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/app/store/storetest"
	"linerwatch/app/study"
)

// asWorker is the address of the study for which a process of this test does searches.
const asWorker = "LINERWATCH_TEST_WORKER"

func TestMain(m *testing.M) {
	if address := os.Getenv(asWorker); address != "" {
		if err := serveAlone(address); err != nil {
			fmt.Fprintln(os.Stderr, study.Told(err))
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// serveAlone does searches that take a while, and tells of each that it begins.
func serveAlone(address string) error {
	s, err := Open(context.Background(), address)
	if err != nil {
		return err
	}
	n, err := s.serve(context.Background(), "0.1", 3, 10*time.Second, 15*time.Second, func(ctx context.Context, a study.Search) (study.SearchEnd, error) {
		fmt.Println("begun", a.FilmID)
		select {
		case <-time.After(100 * time.Millisecond):
		case <-ctx.Done():
			return study.SearchEnd{}, ctx.Err()
		}
		return endOf(a), nil
	})
	fmt.Println("done", n)
	return errors.Join(err, s.Close())
}

func endOf(a study.Search) study.SearchEnd {
	return study.SearchEnd{Link: study.Link{HipID: a.HipID, FilmID: a.FilmID, Searched: study.Measured}, By: by,
		Draft: &study.Draft{HipID: a.HipID, FilmID: a.FilmID, Kind: study.Proposed, At: by.At, Version: a.Version, Outlines: []byte("{}")}}
}

// asked makes a study of n films of a hip, and asks for all of them to be searched.
func askedFor(t *testing.T, address string, n int) *DB {
	t.Helper()
	ctx := t.Context()
	require.NoError(t, created(t, address).Close())
	s := opened(t, address)
	h, err := s.SaveHip(ctx, storetest.Hip(), by)
	require.NoError(t, err)
	var films []study.Film
	for i := range n {
		films = append(films, storetest.Film(fmt.Sprint("f", i), "2004-06-14"))
	}
	films, err = s.AddFilms(ctx, films, by)
	require.NoError(t, err)
	var list []study.Search
	for _, f := range films {
		require.NoError(t, s.SaveLink(ctx, study.Link{HipID: h.ID, FilmID: f.ID}, by))
		list = append(list, study.Search{HipID: h.ID, FilmID: f.ID, SHA256: f.Facts.SHA256, Version: "0.1"})
	}
	added, err := s.Ask(ctx, list)
	require.NoError(t, err)
	require.Equal(t, n, added)
	added, err = s.Ask(ctx, list)
	require.NoError(t, err)
	require.Zero(t, added, "asked for again, it is the same")
	return s
}

// proposed returns how many films have a proposal, and how often the end of a search was
// kept.
func proposed(t *testing.T, s *DB) (films, kept int) {
	t.Helper()
	r, err := s.Record(t.Context(), "H1")
	require.NoError(t, err)
	for _, d := range r.Unaccepted {
		if d.Kind == study.Proposed {
			films++
		}
	}
	require.NoError(t, s.Trail(t.Context(), func(row study.TrailRow) error {
		if row.What == "link" && row.Old != "" {
			kept++
		}
		return nil
	}))
	return films, kept
}

type process struct {
	*exec.Cmd
	first chan struct{} // closed once it has begun some searches
	lock  sync.Mutex
	lines []string
	read  chan struct{}
}

func started(t *testing.T, address string) *process {
	t.Helper()
	p := &process{Cmd: exec.Command(os.Args[0], "-test.run=^$"), first: make(chan struct{}), read: make(chan struct{})}
	p.Env = append(os.Environ(), asWorker+"="+address)
	p.Stderr = os.Stderr
	out, err := p.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, p.Start())
	go func(out io.Reader) {
		defer close(p.read)
		lines := bufio.NewScanner(out)
		for lines.Scan() {
			p.lock.Lock()
			p.lines = append(p.lines, lines.Text())
			if len(p.lines) == 10 {
				close(p.first)
			}
			p.lock.Unlock()
		}
	}(out)
	return p
}

// begun counts the searches that a process began.
func (p *process) begun() (n int) {
	p.lock.Lock()
	defer p.lock.Unlock()
	for _, l := range p.lines {
		if strings.HasPrefix(l, "begun") {
			n++
		}
	}
	return n
}

// Two programs search the films of a study; one is killed. Every film is kept once.
func TestOneOfTwoIsKilled(t *testing.T) {
	const n = 120
	address := database(t)
	s := askedFor(t, address, n)
	a, b := started(t, address), started(t, address)
	<-a.first
	<-b.first
	require.NoError(t, a.Process.Kill())
	_ = a.Wait() // it was killed
	killed := time.Now()
	<-a.read
	<-b.read
	require.NoError(t, b.Wait())
	films, kept := proposed(t, s)
	assert.Equal(t, n, films)
	assert.Equal(t, n, kept, "each once")
	begun := a.begun() + b.begun()
	assert.Greater(t, begun, n, "what the killed one had begun was begun again")
	var orphans int
	require.NoError(t, s.db.QueryRowContext(t.Context(), "SELECT count(*) FROM river_job WHERE attempt > 1").Scan(&orphans))
	found, err := s.Audit(t.Context())
	require.NoError(t, err)
	assert.Empty(t, found.Broken)
	t.Logf("peers: %d films, two programs of three workers, one killed after %d were begun there: %d kept once each, %d begun, %d taken over, all done %.0f s after the kill",
		n, a.begun(), kept, begun, orphans, time.Since(killed).Seconds())
}

// A film that is not at hand is given up, and may be asked for again; a fault is tried again.
func TestSearchesThatFail(t *testing.T) {
	address := database(t)
	s := askedFor(t, address, 3)
	var lock sync.Mutex
	tries := map[string]int{}
	do := func(_ context.Context, a study.Search) (study.SearchEnd, error) {
		lock.Lock()
		defer lock.Unlock()
		tries[a.FilmID]++
		switch {
		case a.FilmID == "F1":
			return study.SearchEnd{}, study.ErrNotHere
		case a.FilmID == "F2" && tries[a.FilmID] == 1:
			return study.SearchEnd{}, assert.AnError
		}
		return endOf(a), nil
	}
	n, err := s.Serve(t.Context(), "0.1", 2, do)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	assert.Equal(t, map[string]int{"F1": 1, "F2": 2, "F3": 1}, tries)
	films, kept := proposed(t, s)
	assert.Equal(t, [2]int{2, 2}, [2]int{films, kept})
	added, err := s.Ask(t.Context(), []study.Search{{HipID: "H1", FilmID: "F1", SHA256: "sha-f0", Version: "0.1"}})
	require.NoError(t, err)
	assert.Equal(t, 1, added)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = s.Serve(ctx, "0.1", 2, do)
	require.ErrorIs(t, err, context.Canceled)
}
