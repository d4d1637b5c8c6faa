package batch

import (
	"context"
	"encoding/json"
	"errors"
	"runtime"
	"slices"
	"sync"

	"linerwatch/app/study"
)

// share has the films of list searched by all programs that serve the study, this one among
// them, and ends when none is left. What this one does is counted; Tell is told of it as it
// is found.
func (b Bulk) share(ctx context.Context, st study.Shared, list []task, s *Swept) error {
	var asked []study.Search
	for _, t := range list {
		if t.kept {
			if err := b.keep(ctx, st, t, b.search(ctx, t)); err != nil {
				return err
			}
			continue
		}
		asked = append(asked, study.Search{HipID: t.hip.ID, FilmID: t.film.ID, SHA256: t.film.Facts.SHA256, Version: b.By.Version, Again: b.Again})
	}
	if _, err := st.Ask(ctx, asked); err != nil {
		return err
	}
	var one sync.Mutex
	_, err := st.Serve(ctx, b.By.Version, runtime.GOMAXPROCS(0), func(ctx context.Context, a study.Search) (study.SearchEnd, error) {
		t, err := b.taskOf(ctx, st, a)
		if err != nil {
			return study.SearchEnd{}, err
		}
		got := b.search(ctx, t)
		if err := ctx.Err(); err != nil {
			return study.SearchEnd{}, err // what a stopped search found is nothing
		}
		one.Lock()
		defer one.Unlock()
		s.add(got)
		got.Done, got.Total = s.Measured+s.Refused+s.Failed+s.Missing, len(asked)
		if b.Tell != nil {
			b.Tell(got.Searched)
		}
		return b.endOf(t, got)
	})
	if ctx.Err() != nil {
		s.Left = max(0, len(asked)-s.Measured-s.Refused-s.Failed-s.Missing)
	}
	return err
}

// taskOf is the task that is asked for, where it is still to be done.
func (b Bulk) taskOf(ctx context.Context, st study.Store, a study.Search) (task, error) {
	r, err := st.Record(ctx, a.HipID)
	if errors.Is(err, study.ErrUnknown) {
		return task{}, study.ErrSearched
	}
	if err != nil {
		return task{}, err
	}
	b.Again = a.Again
	list := b.tasks(r, new(Swept))
	i := slices.IndexFunc(list, func(t task) bool { return t.film.ID == a.FilmID })
	if i < 0 || list[i].kept {
		return task{}, study.ErrSearched
	}
	return list[i], nil
}

// endOf is what is kept of a search.
func (b Bulk) endOf(t task, got found) (end study.SearchEnd, err error) {
	if got.Missing {
		return end, study.ErrNotHere
	}
	at := b.Now().UTC()
	end.Link = study.Link{HipID: t.hip.ID, FilmID: t.film.ID, Searched: got.Status, Reason: got.Reason}
	end.By = study.Stamp{Reader: b.By.Reader, At: at, Version: b.By.Version, Why: b.By.Why}
	if got.Status != study.Measured {
		return end, nil
	}
	outlines, err := json.Marshal(got.proposal)
	end.Draft = &study.Draft{HipID: t.hip.ID, FilmID: t.film.ID, Kind: study.Proposed, At: at, Version: b.By.Version, Outlines: outlines}
	return end, err
}
