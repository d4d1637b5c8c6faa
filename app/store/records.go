package store

import (
	"context"
	"errors"
	"runtime"
	"slices"
	"sync/atomic"

	"linerwatch/app/study"
)

// Record implements study.Store.
func (s *Tables) Record(ctx context.Context, hipID string) (study.Record, error) {
	var r study.Record
	all, err := gather(ctx, s.main(), " WHERE hip_id = ?", hipID)
	if err == nil && len(all.hips) == 0 {
		err = study.ErrUnknown
	}
	if err == nil {
		ahead := all.decodeAhead()
		defer ahead.stop()
		r, err = ahead.record(ctx, s, 0)
	}
	if err != nil {
		return study.Record{}, s.fault(named("store.read-hip", "Hip", short(hipID)), err)
	}
	return r, nil
}

// atOnce is how many hips are in memory at once.
const atOnce = 500

// Records implements study.Store. A study of more than atOnce hips is read in parts, in one
// transaction, and what is saved meanwhile is folded into the file after it.
func (s *Tables) Records(ctx context.Context, each func(study.Record) error) (err error) {
	fault := func(err error) error { return s.fault(named("store.read-study"), err) }
	tx, err := s.base.Begin(ctx)
	if err != nil {
		return fault(err)
	}
	open := true
	end := func() {
		if open {
			open = false
			err = errors.Join(err, tx.Rollback())
		}
	}
	defer end()
	ids, err := collect(ctx, tx, "SELECT id FROM hip ORDER BY "+hipOrder, nil, func(scan scanner) (id string, err error) { return id, scan(&id) })
	if err != nil {
		return fault(err)
	}
	for part := range slices.Chunk(ids, atOnce) {
		all, err := gatherThese(ctx, tx, part)
		if err != nil {
			return fault(err)
		}
		if len(ids) <= atOnce {
			end() // nothing more is read of it
		}
		if err := s.handOver(ctx, all, each); err != nil {
			return err
		}
	}
	return nil
}

// gatherThese reads the hips of these IDs.
func gatherThese(ctx context.Context, q querier, ids []string) (*gathered, error) {
	list, err := encode(ids)
	if err != nil {
		return nil, err
	}
	return gather(ctx, q, " WHERE hip_id IN (SELECT value FROM json_each(?))", list[0])
}

// handOver hands what was gathered to each, hip by hip.
func (s *Tables) handOver(ctx context.Context, all *gathered, each func(study.Record) error) error {
	ahead := all.decodeAhead()
	defer ahead.stop()
	for i, h := range all.hips {
		if err := ctx.Err(); err != nil {
			return s.fault(named("store.read-study"), err)
		}
		r, err := ahead.record(ctx, s, i)
		if err != nil {
			return s.fault(named("store.read-hip", "Hip", h.Label()), err)
		}
		if err := each(r); err != nil {
			return err
		}
	}
	return nil
}

// gathered is what a study keeps of some of its hips, by hip.
type gathered struct {
	hips       []study.Hip
	films      map[string]study.Film // by ID
	links      map[string][]study.Link
	readings   map[string][]*readingRow
	exclusions map[string][]study.Exclusion
	drafts     map[string][]study.Draft
	patients   map[string]study.Patient // by ID
	events     map[string][]study.Event
	grades     map[string][]study.Grade
	values     map[string][]study.Value // by what they are of, and its ID
}

// gather reads the hips that where leaves, which says it of a column hip_id.
func gather(ctx context.Context, q querier, where string, args ...any) (*gathered, error) {
	g := &gathered{links: map[string][]study.Link{}, exclusions: map[string][]study.Exclusion{}, drafts: map[string][]study.Draft{}}
	var err error
	if g.hips, err = hips(ctx, q, "JOIN (SELECT id AS hip_id FROM hip) own ON hip_id = id"+where, args...); err != nil {
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
	drafts, err := collect(ctx, q, "SELECT "+draftColumns+" FROM draft"+where+" ORDER BY film_id, kind", args, scanDraft)
	if err != nil {
		return nil, err
	}
	for _, d := range drafts {
		g.drafts[d.HipID] = append(g.drafts[d.HipID], d)
	}
	if err := g.gatherMore(ctx, q, where, args...); err != nil {
		return nil, err
	}
	rows, err := readings(ctx, q, where, args...)
	if err != nil {
		return nil, err
	}
	g.readings = map[string][]*readingRow{}
	for _, r := range rows {
		g.readings[r.HipID] = append(g.readings[r.HipID], r)
	}
	return g, nil
}

// gatherMore reads what gather reads and that few studies have much of.
func (g *gathered) gatherMore(ctx context.Context, q querier, where string, args ...any) error {
	list, err := patients(ctx, q, "WHERE (site, code) IN (SELECT site, patient FROM (SELECT id AS hip_id, site, patient FROM hip) own"+where+")", args...)
	if err != nil {
		return err
	}
	g.patients = map[string]study.Patient{}
	for _, p := range list {
		g.patients[p.ID()] = p
	}
	if g.events, err = keyed(events(ctx, q, where, args...))(func(e study.Event) string { return e.HipID }); err != nil {
		return err
	}
	if g.grades, err = keyed(grades(ctx, q, where, args...))(func(e study.Grade) string { return e.HipID }); err != nil {
		return err
	}
	of, ofArgs := "", []any(nil)
	if where != "" {
		of, ofArgs = " WHERE (of, id) IN ("+owners(where)+")", slices.Concat(args, args, args)
	}
	g.values, err = keyed(values(ctx, q, of, ofArgs...))(func(v study.Value) string { return string(v.Of) + v.ID })
	return err
}

// owners selects what values may be of, of the hips that where leaves.
func owners(where string) string {
	return "SELECT 'patient', site || '/' || patient FROM (SELECT id AS hip_id, site, patient FROM hip) own" + where +
		" UNION ALL SELECT 'hip', hip_id FROM (SELECT id AS hip_id FROM hip) own" + where + " UNION ALL SELECT 'film', film_id FROM link" + where
}

// keyed sorts what was read by a key that is asked for next.
func keyed[T any](list []T, err error) func(key func(T) string) (map[string][]T, error) {
	return func(key func(T) string) (map[string][]T, error) {
		out := map[string][]T{}
		for _, v := range list {
			out[key(v)] = append(out[key(v)], v)
		}
		return out, err
	}
}

// record puts together what was gathered of a hip.
func (g *gathered) record(h study.Hip) (study.Record, error) {
	r := study.Record{Hip: h, Exclusions: g.exclusions[h.ID], Unaccepted: g.drafts[h.ID], Events: g.events[h.ID], Grades: g.grades[h.ID]}
	r.Patient = study.Patient{Site: h.Site, Code: h.Patient}
	if p, ok := g.patients[h.PatientID()]; ok {
		r.Patient = p
	}
	for _, d := range r.Unaccepted {
		if d.Kind == study.Edited {
			r.Drafts++
		}
	}
	for _, l := range g.links[h.ID] {
		r.Films = append(r.Films, g.films[l.FilmID])
	}
	study.SortFilms(r.Films)
	r.Links = linksOf(r.Films, g.links[h.ID])
	r.Values = slices.Concat(g.values[string(study.OfPatient)+h.PatientID()], g.values[string(study.OfHip)+h.ID])
	for _, f := range r.Films {
		r.Values = append(r.Values, g.values[string(study.OfFilm)+f.ID]...)
	}
	if n := len(g.readings[h.ID]); n > 0 {
		r.Readings = make([]study.Reading, 0, n)
	}
	for _, row := range g.readings[h.ID] {
		reading, err := row.reading(g.films[row.FilmID])
		if err != nil {
			return r, err
		}
		r.Readings = append(r.Readings, *reading)
	}
	return r, nil
}

// ahead puts records together on all processors before they are asked for.
type ahead struct {
	ready []chan recorded
	over  atomic.Bool
}

type recorded struct {
	study.Record
	err error
}

func (g *gathered) decodeAhead() *ahead {
	a := &ahead{ready: make([]chan recorded, len(g.hips))}
	for i := range a.ready {
		a.ready[i] = make(chan recorded, 1)
	}
	var next atomic.Int64
	for range min(runtime.GOMAXPROCS(0), len(g.hips)) {
		go func() {
			for i := int(next.Add(1)) - 1; i < len(g.hips) && !a.over.Load(); i = int(next.Add(1)) - 1 {
				r, err := g.record(g.hips[i])
				a.ready[i] <- recorded{r, err}
			}
		}()
	}
	return a
}

func (a *ahead) stop() { a.over.Store(true) }

// record returns the record of the i-th hip, with the edge points that its trend may
// need. Each is returned once.
func (a *ahead) record(ctx context.Context, s *Tables, i int) (study.Record, error) {
	r := <-a.ready[i]
	if r.err != nil || !r.Rereads() {
		return r.Record, r.err
	}
	for k := range r.Readings {
		p, err := points(ctx, s.main(), r.Readings[k].ID)
		if err != nil {
			return r.Record, err
		}
		r.Readings[k] = r.Readings[k].With(p)
	}
	return r.Record, nil
}
