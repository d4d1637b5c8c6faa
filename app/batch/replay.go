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
	From   study.Provenance // of what the study holds
	Reason study.Note       // why it could not be made again, or gives nothing now
	Differ []Differing      // numbers that are others now
}

// Differing is a number that is another one when it is measured again.
type Differing struct {
	Name, Unit string
	Was, Now   float64
}

// Replay measures every proposal of a study again, as the hip and the film are now, and
// tells of each where its numbers differ; nothing is kept. A proposal that asks for
// another head, side or view than the hip has now is told as such, and not measured.
// tell gets one call at a time. The error is that of ctx, of tell or of the study.
func (b Bulk) Replay(ctx context.Context, st study.Store, tell func(Replayed, int, int) error) error {
	type kept struct {
		task
		draft study.Draft
		study.Proposal
	}
	var list []kept
	err := st.Records(ctx, func(r study.Record) error {
		for _, f := range r.Films {
			for _, d := range r.OutlinesOf(f.ID) {
				if p, ok := d.Proposal(); ok {
					list = append(list, kept{task{r.Hip, f, false}, d, p})
				}
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
		k := list[i]
		out := Replayed{Hip: k.hip, Film: k.film, From: k.From}
		switch {
		case k.From == study.Provenance{}:
			out.Reason = study.Note{Code: "replay.unknown"}
		case !k.From.Asks(k.hip, k.film):
			out.Reason = study.Note{Code: "replay.outdated"}
		default:
			out.Differ, out.Reason = b.again(ctx, k.task, k.draft)
		}
		one.Lock()
		defer one.Unlock()
		if ctx.Err() != nil {
			return
		}
		done++
		if err := tell(out, done, len(list)); err != nil {
			stop(err)
		}
	})
	return context.Cause(ctx)
}

// again measures what a draft holds once more and returns the numbers that differ.
func (b Bulk) again(ctx context.Context, t task, was study.Draft) ([]Differing, study.Note) {
	got := b.search(ctx, t)
	if got.Status != study.Measured {
		return nil, got.Reason
	}
	outlines, err := json.Marshal(got.proposal)
	if err != nil {
		return nil, study.NoteOf(err)
	}
	now := study.Draft{HipID: was.HipID, FilmID: was.FilmID, Kind: study.Proposed, Outlines: outlines}
	before, ok := was.Measured(t.hip, t.film)
	after, too := now.Measured(t.hip, t.film)
	if !ok || !too {
		return nil, study.NoteOf(study.ErrNoOutlines)
	}
	return differing(before, after), study.Note{}
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
