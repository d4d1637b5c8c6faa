package cli

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"linerwatch/app/batch"
	"linerwatch/app/report"
	"linerwatch/app/study"
)

var studyCommand = command{
	name:    "study",
	usage:   "VERB FILE.linerwatch [...]",
	about:   "command.study",
	studies: true,
	run:     runStudy,
}

func runStudy(ctx context.Context, c *call) error {
	verbs := studyVerbs()
	if len(c.films) > 0 {
		if run, ok := verbs[c.films[0]]; ok {
			c.films = c.films[1:]
			return run(ctx, c)
		}
		if study.IsFile(c.films[0]) {
			return c.fail("linerwatch study list "+c.films[0], say("cli.say-what-study"))
		}
	}
	return c.fail("linerwatch help study", say("cli.one-of", "Names", verbNames()))
}

func verbNames() string { return strings.Join(slices.Sorted(maps.Keys(studyVerbs())), ", ") }

func runList(ctx context.Context, c *call) (err error) {
	whose := c.flags.String("readings-of", "", "")
	by := c.by()
	c.format()
	if err := c.parse(); err != nil {
		return err
	}
	if len(c.films) != 1 {
		return c.fail("linerwatch study list FILE"+study.FileExt, say("cli.name-study"))
	}
	st, err := c.lookStudy(ctx, c.films[0])
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	reader, err := readingsOf(ctx, st, *whose)
	if err != nil {
		return err
	}
	var rows []study.Summary
	of := study.ReaderOf(reader)
	known := of == "" // a rule that names no one reader
	err = st.Records(ctx, func(r study.Record) error {
		s := r.Summary(reader)
		rows = append(rows, s)
		for _, who := range s.Readers {
			known = known || who == of
		}
		return nil
	})
	if err == nil {
		err = st.Check(ctx) // of a damaged file nothing is told
	}
	switch {
	case err != nil:
		return err
	case !known && *whose != "":
		return c.noReader(of)
	}
	waiting, err := st.Unsorted(ctx)
	if err != nil {
		return err
	}
	if err := c.discloses(ctx, st, c.films[0], *by, study.Disclosure{Kind: study.ListedHips}); err != nil {
		return err
	}
	if err := report.Hips(c.Stdout, c.form, rows, reader); err != nil {
		return err
	}
	return c.tellWaiting(waiting, rows)
}

// readingsOf returns the rule by which readings count: what was asked for, or that of the
// study.
func readingsOf(ctx context.Context, st study.Store, asked string) (study.Rule, error) {
	if asked == "" {
		return batch.CountsOf(ctx, st)
	}
	return study.ParseRule(asked)
}

func (c *call) noReader(reader string) error {
	return c.fail(say("cli.reader-of-study"), say("cli.reader-not-study", "Reader", reader, "Study", study.NameOf(c.films[0])))
}

// tellWaiting says which films are of no hip yet: below a table for people, and beside one
// for programs.
func (c *call) tellWaiting(films []study.Film, rows []study.Summary) error {
	hips := make([]study.Hip, 0, len(rows))
	for _, r := range rows {
		hips = append(hips, r.Hip)
	}
	to, before := c.Stderr, "linerwatch: study: "
	if c.form == report.Table {
		to, before = c.Stdout, ""
	}
	for _, line := range study.Waiting(study.Piles(films, hips)) {
		if _, err := fmt.Fprintln(to, before+line); err != nil {
			return err
		}
	}
	return nil
}

// lookStudy opens a study file that must be there to be read; it need not be one that can
// be written.
func (c *call) lookStudy(ctx context.Context, path string) (study.Store, error) {
	if c.upgrade && c.Studies.Earlier != nil && c.Studies.Earlier(path) {
		return c.openStudy(ctx, path)
	}
	st, err := batch.Look(ctx, path, c.Studies)
	return st, c.studyFault(path, err)
}

// altered tells, and returns for what is written, that a study was changed outside the program.
func (c *call) altered(ctx context.Context, st study.Store) (study.Note, error) {
	a, err := st.Audit(ctx)
	if err != nil {
		return study.Note{}, err
	}
	why := a.Altered()
	if !why.IsZero() {
		err = c.say(say("cli.what-altered", "Why", study.NoteWords(why)))
	}
	return why, err
}

// studyFault says what to do where a study could not be opened.
func (c *call) studyFault(path string, err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, context.Canceled):
		return errors.New(say("cli.study-stopped", "Command", c.name, "Study", study.NameOf(path)))
	case errors.Is(err, study.ErrEarlier):
		return errors.New(say("cli.study-earlier", "Command", c.name, "Why", study.Told(err)))
	}
	return fmt.Errorf("%s: %s", c.name, study.Told(err))
}

// openStudy opens a study file that must be there to be changed. Of one of an earlier version of the
// program it says what was done with it, and, where that takes longer than patience, how far
// it has come.
func (c *call) openStudy(ctx context.Context, path string) (study.Store, error) {
	earlier := c.Studies.Earlier != nil && c.Studies.Earlier(path)
	if earlier && !c.upgrade {
		return c.lookStudy(ctx, path)
	}
	show, clear := c.adapting(path)
	readings := 0
	st, err := batch.OpenExisting(ctx, path, c.Studies, func(done, of int) {
		readings = of
		show(done, of)
	})
	clear()
	switch {
	case err != nil:
		return nil, c.studyFault(path, err)
	case earlier:
		_, err = fmt.Fprintf(c.Stderr, "linerwatch: study: %s\n", say("cli.adapted", "Study", study.NameOf(path), "N", readings))
	}
	if b, ok := st.(study.BackingUp); ok && err == nil {
		st = backed{st, func() error {
			if err := b.NotBackedUp(ctx); err != nil {
				return c.say(study.Told(err))
			}
			return nil
		}}
	}
	return st, err
}

// backed is a study that is closed once its backup is made, or tells that it could not be: one
// that is closed sooner breaks that off.
type backed struct {
	study.Store
	tell func() error
}

func (b backed) Close() error { return errors.Join(b.tell(), b.Store.Close()) }

// patience is how long a command says nothing about a study that is being changed.
const patience = time.Second

// adapting returns a function that says how far a study has been brought to this version's
// form: on one line that is kept up to date where stderr is a terminal, else once; and one
// that ends the line.
func (c *call) adapting(path string) (show func(done, of int), clear func()) {
	what := "linerwatch: study: " + say("cli.adapts", "Study", study.NameOf(path))
	var began time.Time
	said := false
	line, clear := c.progress(what)
	return func(done, of int) {
		now := c.Now()
		if began.IsZero() {
			began = now
		}
		switch {
		case now.Sub(began) < patience:
		case line != nil:
			line(done, of)
		case !said:
			said = true
			_, _ = fmt.Fprintln(c.Stderr, what, say("cli.readings-of", "Done", done, "N", of)) // nobody is left to tell
		}
	}, clear
}
