package store

import (
	"context"
	"database/sql"
	"errors"
	"runtime"
	"sync"

	"linerwatch/app/study"
)

// Record implements study.Store.
func (s *DB) Record(ctx context.Context, hipID string) (study.Record, error) {
	var r study.Record
	all, err := gather(ctx, s.db, " WHERE hip_id = ?", hipID)
	if err == nil && len(all.hips) == 0 {
		err = study.ErrUnknown
	}
	if err == nil {
		r, err = s.record(ctx, all, all.hips[0])
	}
	if err != nil {
		return study.Record{}, s.fault("read hip "+short(hipID), err)
	}
	return r, nil
}

// Records implements study.Store.
func (s *DB) Records(ctx context.Context, each func(study.Record) error) error {
	all, err := s.snapshot(ctx)
	s.foldLeft()
	if err != nil {
		return s.fault("read the study", err)
	}
	for _, h := range all.hips {
		if err := ctx.Err(); err != nil {
			return s.fault("read the study", err)
		}
		r, err := s.record(ctx, all, h)
		if err != nil {
			return s.fault("read hip "+h.Label(), err)
		}
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}

// snapshot reads all of the study but its edge points, as it is at one moment.
func (s *DB) snapshot(ctx context.Context) (_ *gathered, err error) {
	tx, err := s.snapshotTx(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, tx.Rollback()) }()
	return gather(ctx, tx, "")
}

func (s *DB) snapshotTx(ctx context.Context) (*sql.Tx, error) {
	return s.look.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
}

// gathered is what a study keeps of some of its hips, by hip.
type gathered struct {
	hips       []study.Hip
	films      map[string]study.Film // by ID
	links      map[string][]study.Link
	readings   map[string][]study.Reading
	exclusions map[string][]study.Exclusion
	drafts     map[string]int
}

// gather reads the hips that where leaves, which says it of a column hip_id.
func gather(ctx context.Context, q querier, where string, args ...any) (*gathered, error) {
	g := &gathered{links: map[string][]study.Link{}, exclusions: map[string][]study.Exclusion{}, drafts: map[string]int{}}
	var err error
	if g.hips, err = hips(ctx, q, "JOIN (SELECT id AS hip_id FROM hip) ON hip_id = id"+where, args...); err != nil {
		return nil, err
	}
	list, err := collect(ctx, q, "SELECT "+filmColumns+" FROM film WHERE id IN (SELECT film_id FROM link"+where+")", args, scanFilm)
	if err != nil {
		return nil, err
	}
	g.films = filmsByID(list)
	links, err := collect(ctx, q, "SELECT hip_id, film_id, searched, reason FROM link"+where, args, scanLink)
	if err != nil {
		return nil, err
	}
	for _, l := range links {
		g.links[l.HipID] = append(g.links[l.HipID], l)
	}
	exclusions, err := collect(ctx, q, "SELECT "+exclusionColumns+" FROM exclusion"+where+" ORDER BY seq", args, scanExclusion)
	if err != nil {
		return nil, err
	}
	for _, e := range exclusions {
		g.exclusions[e.HipID] = append(g.exclusions[e.HipID], e)
	}
	edited, err := collect(ctx, q, "SELECT hip_id FROM (SELECT hip_id FROM draft WHERE kind = 'edited')"+where, args,
		func(scan scanner) (hip string, err error) { return hip, scan(&hip) })
	if err != nil {
		return nil, err
	}
	for _, hip := range edited {
		g.drafts[hip]++
	}
	rows, err := readings(ctx, q, where, args...)
	if err != nil {
		return nil, err
	}
	return g, g.decode(rows)
}

// decode decodes readings on all processors.
func (g *gathered) decode(rows []*readingRow) error {
	n := min(runtime.GOMAXPROCS(0), 1+len(rows)/100)
	out, errs := make([]study.Reading, len(rows)), make([]error, n)
	var wg sync.WaitGroup
	for k := range n {
		wg.Go(func() {
			for i := k; i < len(rows) && errs[k] == nil; i += n {
				out[i], errs[k] = rows[i].reading(g.films[rows[i].FilmID])
			}
		})
	}
	wg.Wait()
	g.readings = map[string][]study.Reading{}
	for _, r := range out {
		g.readings[r.HipID] = append(g.readings[r.HipID], r)
	}
	return errors.Join(errs...)
}

// record puts together what was gathered of a hip, with the edge points that its trend
// may need.
func (s *DB) record(ctx context.Context, g *gathered, h study.Hip) (study.Record, error) {
	r := study.Record{Hip: h, Readings: g.readings[h.ID], Exclusions: g.exclusions[h.ID], Drafts: g.drafts[h.ID]}
	for _, l := range g.links[h.ID] {
		r.Films = append(r.Films, g.films[l.FilmID])
	}
	study.SortFilms(r.Films)
	r.Links = linksOf(r.Films, g.links[h.ID])
	if !r.Rereads() {
		return r, nil
	}
	for i := range r.Readings {
		p, err := points(ctx, s.db, r.Readings[i].ID)
		if err != nil {
			return r, err
		}
		r.Readings[i] = r.Readings[i].With(p)
	}
	return r, nil
}
