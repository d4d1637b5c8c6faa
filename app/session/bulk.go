package session

import (
	"context"
	"errors"
	"os"
	"slices"
	"strings"

	"linerwatch/app/batch"
	"linerwatch/app/roster"
	"linerwatch/app/session/jobs"
	"linerwatch/app/source"
	"linerwatch/app/study"
)

// MeasureAll has the program propose outlines for every film of the study that has none, in
// the background (batch.Bulk), and then calls done with what is to be told, on the session's
// goroutine. Work.Stop stops it: done is not called then, and what was kept stays.
func (b *Book) MeasureAll(done func(said []string, err error)) {
	if b.store == nil {
		done(nil, ErrNoStudy)
		return
	}
	if err := b.settle(); err != nil {
		done(nil, err)
		return
	}
	st, sweep := b.store, batch.Bulk{By: b.s.stamp(), Now: b.s.cfg.Now}
	b.s.work.queue.Start(jobs.Job{
		Dropped: b.entered,
		Run: func(ctx context.Context, step jobs.Step) func() {
			var films []string
			sweep.Tell = func(s batch.Searched) {
				step(s.Done, s.Total)
				if text := s.Told(); text != "" {
					films = append(films, text)
				}
			}
			got, err := sweep.Run(ctx, st)
			return func() {
				b.entered()
				done(append(got.Told(), films...), err)
			}
		}})
}

// settle saves what waits to be saved.
func (b *Book) settle() error { return errors.Join(b.s.drafts.Flush(), b.s.intake.flush()) }

// entered shows what was put into the study beside the open hip.
func (b *Book) entered() {
	if b.store == nil {
		return
	}
	in := &b.s.intake
	in.films = slices.DeleteFunc(in.films, func(f study.Film) bool { return f.Revision > 0 }) // as the study has them now
	if err := errors.Join(b.follow(), in.load()); err != nil {
		b.s.Say("%s", study.Told(err))
	}
	b.s.changed(Everything)
}

// Import puts films of many patients, and tables of hips, into the open study: first it is
// shown what that would do.
type Import struct {
	b      *Book
	roll   batch.Roll
	filing *batch.Filing
}

// Import returns an import into the open study.
func (b *Book) Import() *Import { return &Import{b: b} }

// DateOrders are the orders in which dates with slashes are written.
func DateOrders() []string { return []string{string(roster.DayFirst), string(roster.MonthFirst)} }

// ImportAsked is what is to be imported. Empty ones are left out.
type ImportAsked struct {
	Films        string // a folder
	Hips, Events string // tables
	FilmValues   string // a table of films that the study has
	Columns      string // what columns are, as COLUMN=FIELD, with semicolons between
	Dates        string // one of DateOrders, of dates with slashes; empty where there are none
	Site         string // of rows that state none, and of films
	Both         bool   // films that state no side are of both hips
}

// Plan reads what is to be imported and calls done with what that would do: ready says that
// it may be entered, changes that a reason is needed. Nothing is written.
func (in *Import) Plan(asked ImportAsked, done func(said []string, ready, changes bool, err error)) {
	b := in.b
	t := batch.Tables{HipsFile: asked.Hips, EventsFile: asked.Events, FilmsFile: asked.FilmValues, Dates: roster.DateOrder(asked.Dates), Site: asked.Site, Now: b.s.cfg.Now()}
	var err error
	if t.Given, err = givenColumns(asked.Columns); err == nil {
		err = b.settle()
	}
	switch {
	case b.store == nil:
		err = ErrNoStudy
	case asked.Films+asked.Hips+asked.Events+asked.FilmValues == "":
		err = study.NewError("import.nothing", nil)
	}
	if err != nil {
		done(nil, false, false, err)
		return
	}
	st := b.store
	b.s.work.queue.Start(jobs.Job{
		Dropped: func() { done(nil, false, false, context.Canceled) },
		Run: func(ctx context.Context, step jobs.Step) func() {
			roll, err := batch.PlanRoll(ctx, st, t)
			var filing *batch.Filing
			if err == nil && asked.Films != "" && len(roll.Bad) == 0 {
				filing, err = batch.PlanFiling(ctx, st, []string{asked.Films}, roll.Hips, batch.FilingOptions{Site: asked.Site, Both: asked.Both, Now: t.Now}, step)
			}
			var doubts []string
			if err == nil && len(roll.Bad) == 0 {
				doubts, err = roll.Doubts(ctx, st, filing)
			}
			return func() {
				in.roll, in.filing = roll, filing
				said := append(roll.BadTold(), roll.Told()...)
				if filing != nil {
					said = append(said, filing.Told()...)
				}
				said = append(said, doubts...)
				ready := err == nil && len(roll.Bad) == 0 && (!roll.Empty() || filing != nil && filing.Writes())
				done(said, ready, roll.Amended() > 0, err)
			}
		}})
}

// givenColumns reads what columns are.
func givenColumns(text string) (list []roster.Given, err error) {
	for one := range strings.SplitSeq(text, ";") {
		if one = strings.TrimSpace(one); one == "" {
			continue
		}
		g, err := roster.ParseGiven(one)
		if err != nil {
			return nil, err
		}
		list = append(list, g)
	}
	return list, nil
}

// Enter does what Plan has shown, and then calls done. Where it is stopped, what was entered
// stays, and planning it again tells what is left.
func (in *Import) Enter(why string, done func(error)) {
	b := in.b
	st, by, roll, filing := b.store, b.s.stamp(), in.roll, in.filing
	by.Why = why
	switch {
	case st == nil:
		done(ErrNoStudy)
		return
	case by.Reader == "":
		done(study.NewError("accept.no-reader", nil))
		return
	case why == "" && roll.Amended() > 0:
		done(study.NewError("import.why", nil))
		return
	}
	b.s.work.queue.Start(jobs.Job{
		Dropped: func() {
			b.entered()
			done(context.Canceled)
		},
		Run: func(ctx context.Context, step jobs.Step) func() {
			err := roll.Enter(ctx, st, by)
			if err == nil && filing != nil {
				err = filing.Keep(ctx, st, by, step)
			}
			return func() {
				b.entered()
				done(errors.Join(err, b.again(roll.Entries.Hips)))
			}
		}})
}

// again opens the open hip anew where it is one of those that were changed.
func (b *Book) again(changed []study.Hip) error {
	id := b.s.hip.ID
	if b.store == nil || !slices.ContainsFunc(changed, func(h study.Hip) bool { return h.ID == id }) {
		return nil
	}
	return b.s.OpenHip(id)
}

// Sorted returns asked with files that were dropped: a folder, or what is no table, as films;
// tables by their columns. The error is that of a table that cannot be read.
func (in *Import) Sorted(asked ImportAsked, paths []string) (ImportAsked, error) {
	for _, path := range paths {
		info, err := os.Stat(path)
		switch {
		case err != nil:
			return asked, err
		case info.IsDir() || !source.IsTable(path):
			asked.Films = path
			continue
		}
		sheet, err := roster.Open(path)
		switch {
		case err != nil:
			return asked, err
		case sheet.Has("event") || sheet.Has("kind"):
			asked.Events = path
		case !sheet.Has("surgery") && !sheet.Has("head_mm") && (sheet.Has("date") || sheet.Has("film_date")):
			asked.FilmValues = path
		default:
			asked.Hips = path
		}
	}
	return asked, nil
}
