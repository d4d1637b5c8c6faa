package batch

import (
	"context"
	"encoding/json"
	"sync"

	"linerwatch/app/study"
)

// Replayed is an unattended measurement that was made again.
type Replayed struct {
	Hip    study.Hip
	Film   study.Film
	Reader string           // who accepted it as it was; empty of a proposal
	From   study.Provenance // of what the study holds
	Reason study.Note       // why it could not be made again, or gives nothing now
	Differ []Differing      // numbers that are others now
}

// Differing is a number that is another one when it is measured again.
type Differing struct {
	Name, Unit string
	Was, Now   float64
}

// kept is what a study holds of the unattended measurements of a film.
type kept struct {
	task
	had []had
}

// had is one of them: what is told of it, and what it was.
type had struct {
	Replayed
	was study.Measurement
}

// Replay measures every proposal of a study again, and every reading that is one accepted
// untouched and not withdrawn, as the hip and the film are now, and tells of each where its
// numbers differ; nothing is kept. What asks for another head, side or view than the hip has
// now is told as such, and not measured. tell gets one call at a time. The error is that of
// ctx, of tell or of the study.
func (b Bulk) Replay(ctx context.Context, st study.Store, tell func(Replayed, int, int) error) error {
	var list []kept
	total := 0
	err := st.Records(ctx, func(r study.Record) error {
		for _, f := range r.Films {
			if had := unattended(r, f); len(had) > 0 {
				list = append(list, kept{task{r.Hip, f, false}, had})
				total += len(had)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var one sync.Mutex
	done := 0
	_ = parallel(ctx, len(list), nil, func(i int) { // its error is that of ctx
		all := b.again(ctx, list[i])
		one.Lock()
		defer one.Unlock()
		for _, out := range all {
			if ctx.Err() != nil {
				return
			}
			done++
			if err := tell(out, done, total); err != nil {
				stop(err)
			}
		}
	})
	return context.Cause(ctx)
}

// unattended returns what a record holds of the unattended measurements of a film: what is
// proposed, and what readers took of it as it was.
func unattended(r study.Record, f study.Film) (out []had) {
	for _, d := range r.OutlinesOf(f.ID) {
		if p, ok := d.Proposal(); ok {
			was, _ := d.Measured(r.Hip, f)
			out = append(out, had{Replayed{Hip: r.Hip, Film: f, From: p.From}, was})
		}
	}
	for _, g := range r.Readings {
		if g.FilmID == f.ID && g.Listed.Untouched && g.Stands() {
			asked := r.Hip
			asked.Implant.HeadMM, asked.Side = g.HeadMM, g.Side
			out = append(out, had{Replayed{Hip: r.Hip, Film: f, Reader: g.Reader, From: study.NewProvenance(g.Version, asked, f)}, g.Measurement})
		}
	}
	return out
}

// again measures a film once more and compares what the study holds of it.
func (b Bulk) again(ctx context.Context, k kept) (out []Replayed) {
	var now study.Measurement
	var why study.Note
	measured := false
	for _, h := range k.had {
		switch {
		case h.From == study.Provenance{}:
			h.Reason = study.Note{Code: "replay.unknown"}
		case !h.From.Asks(k.hip, k.film):
			h.Reason = study.Note{Code: "replay.outdated"}
		default:
			if !measured {
				now, why = b.anew(ctx, k.task)
				measured = true
			}
			if h.Reason = why; why.IsZero() {
				h.Differ, h.Reason = differ(h.was, now)
			}
		}
		out = append(out, h.Replayed)
	}
	return out
}

// anew measures a film as a proposal of it is read; a note says why there is none.
func (b Bulk) anew(ctx context.Context, t task) (m study.Measurement, why study.Note) {
	got := b.search(ctx, t)
	if got.Status != study.Measured {
		return m, got.Reason
	}
	outlines, err := json.Marshal(got.proposal)
	if err != nil {
		return m, study.NoteOf(err)
	}
	now := study.Draft{HipID: t.hip.ID, FilmID: t.film.ID, Kind: study.Proposed, Outlines: outlines}
	m, ok := now.Measured(t.hip, t.film)
	if !ok {
		return m, study.NoteOf(study.ErrNoOutlines)
	}
	return m, why
}

// differ compares two measurements by the method of the earlier one.
func differ(was, now study.Measurement) ([]Differing, study.Note) {
	now, ok := now.By(was.How)
	if was.Status != study.Measured || !ok {
		return nil, study.NoteOf(study.ErrNoOutlines)
	}
	return differing(was, now), study.Note{}
}

// differing compares two measurements bit by bit.
func differing(was, now study.Measurement) (out []Differing) {
	for _, n := range []Differing{
		{"offset superior", "mm", was.Reading.Offset.Superior, now.Reading.Offset.Superior},
		{"offset medial", "mm", was.Reading.Offset.Medial, now.Reading.Offset.Medial},
		{"scale", "mm/px", was.Reading.Scale, now.Reading.Scale},
		{"head x", "px", was.Head.X, now.Head.X},
		{"head y", "px", was.Head.Y, now.Head.Y},
		{"head radius", "px", was.Head.R, now.Head.R},
		{"cup x", "px", was.Cup.X, now.Cup.X},
		{"cup y", "px", was.Cup.Y, now.Cup.Y},
		{"cup radius", "px", was.Cup.R, now.Cup.R},
		{"variance superior", "mm2", was.Reading.Offset.Cov[0][0], now.Reading.Offset.Cov[0][0]},
		{"variance medial", "mm2", was.Reading.Offset.Cov[1][1], now.Reading.Offset.Cov[1][1]},
	} {
		if n.Was != n.Now {
			out = append(out, n)
		}
	}
	return out
}
