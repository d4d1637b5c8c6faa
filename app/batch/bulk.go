package batch

import (
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"linerwatch/app/study"
)

// Bulk proposes outlines for the films of a study with nobody looking. What it keeps is
// drafts of the kind study.Proposed and how each search ended: never a reading.
type Bulk struct {
	By    study.Stamp      // of what is kept; its At is that of each film
	Now   func() time.Time // the present
	Again bool             // try films, too, on which nothing was found or whose file could not be read
	Tell  func(Searched)   // told of each film, once it is kept; may be nil; one call at a time

	// Measure measures one hip on one film; nil is for the program's own way.
	Measure func(ctx context.Context, h study.Hip, f study.Film) study.Measurement
}

// Searched is what became of one film of a hip.
type Searched struct {
	Hip         study.Hip
	Film        study.Film
	Status      study.Status
	Reason      study.Note // why there are no outlines
	Missing     bool       // the file is not where it was: nothing was kept, and it is tried when next asked
	Warnings    []study.Warning
	Done, Total int
}

// Swept says what a Bulk has done.
type Swept struct {
	Measured, Refused, Failed, Missing int
	There                              int // films that had been searched before
	Headless                           int // films of hips whose head's diameter is not known
	Left                               int // films that a stop has left
	Doubtful                           int // of the measured ones, those with a Doubt
}

// task is one hip on one film.
type task struct {
	hip  study.Hip
	film study.Film
	kept bool // the proposal is there, and that it is not: a stop came between the two
}

// Run proposes outlines for every film that has none, on all processors, each worker with
// one film in memory. Each film is kept by itself, so that a Run after one that was stopped
// or killed goes on where that was. The error is that of ctx or of the study; what was
// done until then stays.
func (b Bulk) Run(ctx context.Context, st study.Store) (Swept, error) {
	var s Swept
	var list []task
	err := st.Records(ctx, func(r study.Record) error {
		todo := b.tasks(r, &s)
		list = append(list, todo...)
		return nil
	})
	if err != nil {
		return s, err
	}
	if shared, ok := st.(study.Shared); ok {
		err := b.share(ctx, shared, list, &s)
		return s, err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var one sync.Mutex
	done := 0
	_ = parallel(ctx, len(list), nil, func(i int) { // its error is that of ctx
		t := list[i]
		got := b.search(ctx, t)
		one.Lock()
		defer one.Unlock()
		if ctx.Err() != nil {
			return // what a stopped search found is nothing
		}
		if err := b.keep(ctx, st, t, got); err != nil {
			stop(err)
			return
		}
		done++
		s.add(got)
		got.Done, got.Total = done, len(list)
		if b.Tell != nil {
			b.Tell(got.Searched)
		}
	})
	s.Left = len(list) - done
	return s, context.Cause(ctx)
}

func (s *Swept) add(got found) {
	switch {
	case got.Missing:
		s.Missing++
	case got.Status == study.Measured:
		s.Measured++
		if _, ok := got.Doubt(); ok {
			s.Doubtful++
		}
	case got.Status == study.Refused:
		s.Refused++
	default:
		s.Failed++
	}
}

// tasks returns what is to be searched of a hip: films that no reader has read or left out,
// and for which the program has not been asked yet with the hip as it is now.
func (b Bulk) tasks(r study.Record, s *Swept) (list []task) {
	for i, l := range r.Links {
		f := r.Films[i]
		from, proposed := provenance(r, f)
		switch {
		case r.Standing(f.ID, study.Anyone) != nil, r.Exclusion(f.ID) != nil:
			s.There++
		case r.Hip.Implant.HeadMM == 0:
			s.Headless++
		case proposed && (from == study.Provenance{} || from.Asks(r.Hip, f)):
			if l.Searched == study.Measured {
				s.There++
				continue
			}
			list = append(list, task{r.Hip, f, true})
		case !proposed && l.Searched != "" && l.Searched != study.Measured && !b.Again:
			s.There++
		default:
			list = append(list, task{r.Hip, f, false})
		}
	}
	return list
}

// provenance returns that of the proposal on a film, and whether there is one.
func provenance(r study.Record, f study.Film) (study.Provenance, bool) {
	for _, d := range r.OutlinesOf(f.ID) {
		if p, ok := d.Proposal(); ok {
			return p.From, true
		}
	}
	return study.Provenance{}, false
}

// found is what a search has found.
type found struct {
	Searched
	proposal study.Proposal
}

func (b Bulk) search(ctx context.Context, t task) found {
	got := found{Searched: Searched{Hip: t.hip, Film: t.film, Status: study.Measured}}
	if t.kept {
		return got
	}
	if b.Measure == nil && Lacks(t.film) {
		got.Status, got.Missing, got.Reason = study.Failed, true, study.Note{Code: "bulk.missing"}
		return got
	}
	look := b.Measure
	if look == nil {
		look = measureKept
	}
	m := look(ctx, t.hip, t.film)
	got.Status, got.Reason, got.Warnings = m.Status, m.Reason, m.Warnings
	got.proposal = proposalOf(m, study.NewProvenance(b.By.Version, t.hip, t.film))
	return got
}

// proposalOf returns what was measured as a proposal.
func proposalOf(m study.Measurement, from study.Provenance) study.Proposal {
	p := study.NewProposal(m.Head, m.Cup, m.CupKind, from)
	p.Found, p.Line, p.Rim = m.Warnings, m.Line, m.Rim
	return p
}

// measureKept measures a hip on a film of a study, with what is told of both.
func measureKept(ctx context.Context, h study.Hip, f study.Film) study.Measurement {
	given := Given{Film: f.Path, Center: f.Given.Center, View: f.Given.View, Axes: f.Given.Axes}
	list := measureFile(ctx, f.Path, MeasureOptions{HeadMM: h.Implant.HeadMM, Side: h.Side, BeamOff: h.BeamOff,
		SourceMM: f.Given.SourceMM, Given: []Given{given}})
	if len(list) == 0 {
		return study.Measurement{Film: f, Status: study.Refused, Reason: study.Note{Code: "search.no-side", Values: study.Values{"Side": h.Side.String()}}}
	}
	m := list[0]
	if m.Status != study.Failed && !m.Film.Facts.SamePicture(f.Facts) {
		return study.Measurement{Film: f, Status: study.Failed, Reason: study.Note{Code: "file.changed-read"}}
	}
	m.Film = f
	return m
}

// keep keeps how a search ended: the proposal first, so that a film which counts as searched
// has it.
func (b Bulk) keep(ctx context.Context, st study.Store, t task, got found) error {
	if got.Missing {
		return nil
	}
	ctx = context.WithoutCancel(ctx) // what was found is kept, or was never begun to be
	l := study.Link{HipID: t.hip.ID, FilmID: t.film.ID, Searched: got.Status, Reason: got.Reason}
	at := b.Now().UTC()
	var err error
	switch {
	case t.kept:
	case got.Status != study.Measured:
		err = st.DropDraft(ctx, t.hip.ID, t.film.ID, study.Proposed)
	default:
		var outlines []byte
		if outlines, err = json.Marshal(got.proposal); err == nil {
			err = st.SaveDraft(ctx, study.Draft{HipID: t.hip.ID, FilmID: t.film.ID, Kind: study.Proposed, At: at, Version: b.By.Version, Outlines: outlines})
		}
	}
	if err != nil {
		return err
	}
	err = st.SaveLink(ctx, l, study.Stamp{Reader: b.By.Reader, At: at, Version: b.By.Version, Why: b.By.Why})
	if errors.Is(err, study.ErrUnknown) {
		return nil // another has dropped the film meanwhile
	}
	return err
}
