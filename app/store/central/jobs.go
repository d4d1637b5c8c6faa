package central

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"io"
	"log/slog"
	"sync/atomic"
	"time"

	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

var _ study.Shared = (*DB)(nil)

// Times of searches. A film takes seconds; one that takes longest is stopped, and a search whose
// program is gone goes to another rescueAfter it was begun and up to half a minute more.
const (
	longest     = 2 * time.Minute
	rescueAfter = 150 * time.Second // has to be longer
	mostTries   = 4                 // of a film that kills its program
	looksEvery  = 200 * time.Millisecond
)

// undone are the states of searches that wait or are at work.
func undone() []rivertype.JobState {
	return []rivertype.JobState{rivertype.JobStateAvailable, rivertype.JobStatePending, rivertype.JobStateRetryable,
		rivertype.JobStateRunning, rivertype.JobStateScheduled}
}

// job is a search as the queue keeps it. What it is told by, hash and version among it, makes
// it one: asked for again, it is the same.
type job struct{ study.Search }

// Kind implements river.JobArgs.
func (job) Kind() string { return "search" }

// queueOf is the queue of searches by a version of the program: others do not do them.
func queueOf(version string) string {
	sum := sha256.Sum256([]byte(version))
	return "search_" + hex.EncodeToString(sum[:8])
}

// makeJobs makes the tables of the queue, or brings them to their present form.
func makeJobs(ctx context.Context, db *sql.DB) error {
	m, err := rivermigrate.New(riverdatabasesql.New(db), &rivermigrate.Config{Schema: schemaName, Logger: silent()})
	if err != nil {
		return err
	}
	_, err = m.Migrate(ctx, rivermigrate.DirectionUp, nil)
	return err
}

// silent is where the queue's own remarks go: what matters is told by errors and counts.
func silent() *slog.Logger { return slog.New(slog.NewTextHandler(io.Discard, nil)) }

// Ask implements study.Shared.
func (s *DB) Ask(ctx context.Context, list []study.Search) (added int, err error) {
	if len(list) == 0 {
		return 0, nil
	}
	fault := func(err error) (int, error) { return 0, s.Fault(named("central.ask"), err) }
	if s.readOnly {
		return fault(store.ErrReadOnly)
	}
	c, err := river.NewClient(riverdatabasesql.New(s.db), &river.Config{Schema: schemaName, Logger: silent()})
	if err != nil {
		return fault(err)
	}
	var all []river.InsertManyParams
	for _, o := range list {
		all = append(all, river.InsertManyParams{Args: job{o}, InsertOpts: &river.InsertOpts{Queue: queueOf(o.Version), MaxAttempts: mostTries, UniqueOpts: river.UniqueOpts{ByArgs: true, ByState: undone()}}})
	}
	got, err := c.InsertMany(ctx, all)
	if err != nil {
		return fault(err)
	}
	for _, r := range got {
		if !r.UniqueSkippedAsDuplicate {
			added++
		}
	}
	return added, nil
}

// worker does searches.
type worker struct {
	river.WorkerDefaults[job]
	of     *DB
	search func(ctx context.Context, s study.Search) (study.SearchEnd, error)
	done   atomic.Int64
}

// Work implements river.Worker.
func (w *worker) Work(ctx context.Context, j *river.Job[job]) error {
	end, err := w.search(ctx, j.Args.Search)
	switch {
	case errors.Is(err, study.ErrNotHere), errors.Is(err, study.ErrSearched):
		return river.JobCancel(err)
	case err != nil:
		return err
	}
	kept := false
	err = w.of.transactSQL(ctx, func(tx *sql.Tx) error {
		// Whoever took too long may have been replaced: the queue itself does not look.
		var mine bool
		if err := tx.QueryRowContext(ctx, "SELECT state = 'running' AND attempt = $2 FROM river_job WHERE id = $1 FOR UPDATE", j.ID, j.Attempt).Scan(&mine); err != nil || !mine {
			return err
		}
		if err := store.Propose(ctx, asked{tx}, end); err != nil {
			return err
		}
		kept = true
		_, err := river.JobCompleteTx[*riverdatabasesql.Driver](ctx, tx, j)
		return err
	})
	if err == nil && kept {
		w.done.Add(1)
	}
	return err
}

// Serve implements study.Shared.
func (s *DB) Serve(ctx context.Context, version string, n int, search func(ctx context.Context, s study.Search) (study.SearchEnd, error)) (int, error) {
	return s.serve(ctx, version, n, longest, rescueAfter, search)
}

func (s *DB) serve(ctx context.Context, version string, n int, longest, rescue time.Duration, search func(ctx context.Context, s study.Search) (study.SearchEnd, error)) (int, error) {
	w := &worker{of: s, search: search}
	fault := func(err error) (int, error) { return int(w.done.Load()), s.Fault(named("central.serve"), err) }
	if s.readOnly {
		return fault(store.ErrReadOnly)
	}
	s.db.SetMaxOpenConns(mostConnections + 2*n) // the queue asks for its own
	workers := river.NewWorkers()
	river.AddWorker(workers, w)
	c, err := river.NewClient(riverdatabasesql.New(s.db), &river.Config{Schema: schemaName, Logger: silent(), Workers: workers,
		Queues: map[string]river.QueueConfig{queueOf(version): {MaxWorkers: n}}, JobTimeout: longest, RescueStuckJobsAfter: rescue,
		FetchCooldown: looksEvery / 4, FetchPollInterval: looksEvery})
	if err != nil {
		return fault(err)
	}
	work, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	if err := c.Start(work); err != nil {
		return fault(err)
	}
	err = s.untilNone(ctx, queueOf(version))
	end := c.Stop
	if err != nil {
		end = c.StopAndCancel
	}
	err = errors.Join(err, end(work))
	if ctx.Err() != nil {
		return int(w.done.Load()), ctx.Err()
	}
	if err != nil {
		return fault(err)
	}
	return int(w.done.Load()), nil
}

// untilNone waits until no search is waiting or at work, here or elsewhere.
func (s *DB) untilNone(ctx context.Context, queue string) error {
	for {
		var left bool
		err := s.db.QueryRowContext(ctx, "SELECT EXISTS (SELECT 1 FROM river_job WHERE queue = $1 AND state IN ('available', 'pending', 'retryable', 'running', 'scheduled'))", queue).Scan(&left)
		if err != nil || !left {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(looksEvery):
		}
	}
}
