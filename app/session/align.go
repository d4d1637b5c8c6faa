package session

import (
	"context"
	"errors"
	"fmt"

	"linerwatch/app/batch"
	"linerwatch/app/study"
	"linerwatch/measure"
	"linerwatch/measure/find"
)

// Turn is how far the pelvis is turned on a film against the baseline film: a
// proposal for its reference line.
type Turn struct {
	measure.FilmRotation
	Err error // why it could not be told

	film, base   int // turns of the outlines that it was told from
	baselineFilm *Film
}

// Turns are how the pelvis lies turned on the films against the baseline film: found on
// the films, and taken as their reference lines where the reader wishes.
type Turns struct{ s *Session }

// Turns returns how the pelvis lies turned on the films.
func (s *Session) Turns() *Turns { return &s.turns }

// Align compares the pelvis on every outlined AP film with the baseline
// film's, in the background. Of then tells the results; nothing is changed.
func (a *Turns) Align() {
	base := a.s.course.baseline()
	if base == nil {
		a.s.Say("Outline the baseline film first: the other films are compared with it.")
		return
	}
	first := a.pelvis(base)
	for _, f := range a.s.strip.films {
		first := first // a copy for each job
		if f == base || a.s.Numbers(f).Err != nil || a.s.View(f) != study.AP {
			continue
		}
		view, t := a.pelvis(f), Turn{film: f.turn, base: base.turn, baselineFilm: base}
		a.s.work.start(f, f.step, func(context.Context) func() {
			t.Err = errors.Join(a.fill(&first, base.Path), a.fill(&view, f.Path))
			if t.Err == nil {
				t.FilmRotation, t.Err = find.AlignPelvis(first, view)
			}
			return func() {
				f.aligned = &t
				a.s.changed(FilmsChanged | SelectedChanged)
			}
		})
	}
}

// Of returns what Align found on f; ok is false where it has not been
// compared, or not with its outlines as they are now.
func (a *Turns) Of(f *Film) (t Turn, ok bool) {
	if f == nil || f.aligned == nil || f.aligned.film != f.turn || f.aligned.baselineFilm != a.s.course.baseline() ||
		f.aligned.base != f.aligned.baselineFilm.turn {
		return t, false
	}
	return *f.aligned, true
}

// Take lets superior follow the pelvis on all films: each gets the baseline
// film's reference line, or its rows, turned as the pelvis is, all as one step. It
// refuses where a film's turn is not known, because a
// mixture would look like movement.
func (a *Turns) Take() error {
	a.s.mouse.CancelTool()
	base := a.s.course.baseline()
	if base == nil {
		return errors.New("session: no baseline film is outlined")
	}
	lines := map[*Film]study.Line{}
	for _, f := range a.s.strip.films {
		if f == base || f.Excluded != nil || a.s.Numbers(f).Err != nil || a.s.View(f) != study.AP {
			continue
		}
		t, ok := a.Of(f)
		switch {
		case !ok:
			return fmt.Errorf("session: film %d has not been compared with the baseline film", a.s.strip.index(f)+1)
		case t.Err != nil:
			return fmt.Errorf("session: film %d: %w", a.s.strip.index(f)+1, t.Err)
		}
		lines[f] = study.AlignedLine(base.Draft.Line, t.FilmRotation)
	}
	if base.Draft.Line.From == study.NoLine {
		lines[base] = study.AlignedLine(study.Line{}, measure.FilmRotation{})
	}
	step := change{name: "align pelvis, " + study.Count(len(lines), "film")}
	for _, f := range a.s.strip.films {
		if l, ok := lines[f]; ok {
			before := f.memory()
			a.s.edits.putLine(f, l)
			step.parts = append(step.parts, change{film: f, before: before, after: f.memory()})
		}
	}
	a.s.history.record(step)
	return nil
}

func (a *Turns) pelvis(f *Film) find.PelvisView {
	film := batch.BoneBright(f.file, f.pixels, f.Draft.Head.At, f.Draft.Cup.At)
	return find.PelvisView{Film: film, Head: f.Draft.Head.At, Cup: f.Draft.Cup.At,
		HeadMM: a.s.hip.Implant.HeadMM, Side: a.s.hip.Side}
}

// fill reads the picture of a film that has been let go from memory.
func (a *Turns) fill(v *find.PelvisView, path string) error {
	if v.Film != nil {
		return nil
	}
	f, err := a.s.cfg.Open(path)
	if err == nil {
		v.Film = batch.BoneBright(f, f.Pixels, v.Head, v.Cup)
	}
	return err
}
