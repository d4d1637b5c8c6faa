package session

import (
	"context"
	"errors"
	"time"

	"linerwatch/app/study"
)

// clash keeps a conflict, which the reader is then asked to settle, and returns err.
func (b *Book) clash(err error) error {
	var c *study.ConflictError
	if errors.As(err, &c) {
		b.conflict = c
		b.s.changed(ConflictFound)
	}
	return err
}

// Conflict is what was to be saved of a hip or a film, against what another window has
// saved of it since it was opened here.
type Conflict struct {
	Of     string // "hip T1 right"
	Fields []Disagreement
	// Settle saves what was to be saved here, and then, of each of Fields, the value
	// that is chosen: the study keeps both, and who saved them when.
	Settle func(take []Choice) error
}

// Disagreement is one field of a Conflict.
type Disagreement struct {
	Name, Mine, Theirs string
	// Propose is whose value it is where only one of the two has changed it.
	Propose Choice
}

// Choice says whose value is taken.
type Choice int

// The choices.
const (
	Undecided Choice = iota
	Mine
	Theirs
)

// Conflict returns the conflict to be settled; ok is false where there is none.
func (b *Book) Conflict() (c Conflict, ok bool) {
	if b.conflict == nil {
		return c, false
	}
	switch theirs := b.conflict.Theirs.(type) {
	case study.Hip:
		mine, same := b.conflict.Mine.(study.Hip)
		if !same || theirs.ID != b.s.hip.ID {
			return c, false
		}
		parts := b.hipParts()
		return Conflict{
			Of: say("saved.hip", "Name", theirs.Label()), Fields: disagreements(parts, b.s.hip, mine, theirs),
			Settle: func(take []Choice) error {
				return b.settleHip(mine, theirs, func(to *study.Hip, from study.Hip) { pick(parts, to, mine, from, take) })
			},
		}, true
	case study.Film:
		mine, same := b.conflict.Mine.(study.Film)
		f := b.s.strip.ByID(theirs.ID)
		if !same || f == nil {
			return c, false
		}
		return Conflict{
			Of: b.s.strip.label(f) + ", " + f.Name(), Fields: disagreements(givenParts(), f.Given, mine.Given, theirs.Given),
			Settle: func(take []Choice) error {
				return b.settleFilm(f, mine, theirs, func(to *study.Given, from study.Given) { pick(givenParts(), to, mine.Given, from, take) })
			},
		}, true
	}
	return c, false
}

// LeaveConflict leaves everything as it is here: nothing of this window is saved.
func (b *Book) LeaveConflict() { b.conflict = nil }

func (b *Book) settleHip(mine, theirs study.Hip, choose func(to *study.Hip, from study.Hip)) error {
	b.conflict = nil
	before := memory{hip: b.s.hip, known: true}
	mine.Revision = theirs.Revision
	kept, err := b.saveHip(mine, "")
	if err != nil {
		return err
	}
	merged := kept
	if choose(&merged, theirs); merged != kept {
		if merged, err = b.saveHip(merged, ""); err != nil {
			return err
		}
	}
	b.s.showHip(merged, true)
	b.s.history.record(change{name: study.Note{Code: "step.settle"}, before: before, after: memory{hip: b.s.hip, known: true}})
	return nil
}

func (b *Book) settleFilm(f *Film, mine, theirs study.Film, choose func(to *study.Given, from study.Given)) error {
	b.conflict = nil
	mine.Revision = theirs.Revision
	kept, err := b.store.SaveFilm(context.Background(), mine, b.s.stamp())
	if err != nil {
		return b.clash(err)
	}
	f.Revision = kept.Revision
	given := kept.Given
	choose(&given, theirs.Given)
	return b.s.given.change(f, b.s.strip.onFilm("step.settle-film", f), func(g *study.Film) { g.Given = given })
}

// part is one thing that is entered of a T.
type part[T any] struct {
	name string // the key of its text
	same func(a, b T) bool
	text func(T) string
	take func(to *T, from T)
}

// partOf is the part that at points to; text writes it.
func partOf[T any, V comparable](name string, at func(*T) *V, text func(V) string) part[T] {
	return part[T]{
		name: name, same: func(a, b T) bool { return *at(&a) == *at(&b) },
		text: func(v T) string {
			if x := *at(&v); x != *new(V) {
				return text(x)
			}
			return say("field.not-entered")
		},
		take: func(to *T, from T) { *at(to) = *at(&from) },
	}
}

func disagreements[T any](parts []part[T], before, mine, theirs T) (out []Disagreement) {
	for _, p := range parts {
		if p.same(mine, theirs) {
			continue
		}
		d := Disagreement{Name: say(p.name), Mine: p.text(mine), Theirs: p.text(theirs)}
		switch {
		case p.same(mine, before):
			d.Propose = Theirs
		case p.same(theirs, before):
			d.Propose = Mine
		}
		out = append(out, d)
	}
	return out
}

// pick takes theirs where that is chosen, in the order of the disagreements.
func pick[T any](parts []part[T], to *T, mine, theirs T, take []Choice) {
	i := 0
	for _, p := range parts {
		if p.same(mine, theirs) {
			continue
		}
		if i < len(take) && take[i] == Theirs {
			p.take(to, theirs)
		}
		i++
	}
}

func (b *Book) hipParts() []part[study.Hip] {
	type H = study.Hip
	text := func(v string) string { return v }
	coded := func(list []study.Choice) func(string) string {
		return func(code string) string { return study.Words(list, code) }
	}
	film := func(id string) string {
		if f := b.s.strip.ByID(id); f != nil {
			return say("field.film", "Date", f.DateText())
		}
		return say("field.other-film")
	}
	return []part[H]{
		partOf("field.patient", func(h *H) *string { return &h.Patient }, text),
		partOf("field.group", func(h *H) *string { return &h.Group }, text),
		partOf("field.side", func(h *H) *study.Side { return &h.Side }, study.Side.String),
		partOf("field.surgery", func(h *H) *time.Time { return &h.Surgery }, day),
		partOf("field.head", func(h *H) *float64 { return &h.Implant.HeadMM }, millimetres),
		partOf("field.head-material", func(h *H) *string { return &h.Implant.HeadMaterial }, coded(study.HeadMaterials())),
		partOf("field.liner", func(h *H) *float64 { return &h.Implant.LinerMM }, millimetres),
		partOf("field.pe", func(h *H) *string { return &h.Implant.PE }, coded(study.PEKinds())),
		partOf("field.shell", func(h *H) *float64 { return &h.Implant.ShellMM }, millimetres),
		partOf("field.fixation", func(h *H) *string { return &h.Implant.Fixation }, coded(study.Fixations())),
		partOf("detail.liner-inside", func(h *H) *float64 { return &h.Implant.LinerInnerMM }, millimetres),
		partOf("detail.liner-outside", func(h *H) *float64 { return &h.Implant.LinerOuterMM }, millimetres),
		partOf("detail.irradiated", func(h *H) *study.Answer { return &h.Implant.Irradiated }, func(a study.Answer) string { return study.Words(study.Answers(), string(a)) }),
		partOf("detail.dose", func(h *H) *float64 { return &h.Implant.DoseKGy }, number),
		partOf("detail.stabiliser", func(h *H) *string { return &h.Implant.Stabiliser }, coded(study.Stabilisers())),
		partOf("detail.lip", func(h *H) *study.Answer { return &h.Implant.Lipped }, func(a study.Answer) string { return study.Words(study.Answers(), string(a)) }),
		partOf("detail.catalogue", func(h *H) *string { return &h.Implant.Catalogue }, text),
		partOf("detail.site", func(h *H) *string { return &h.Site }, text),
		partOf("detail.age", func(h *H) *float64 { return &h.Age }, number),
		partOf("field.steady", func(h *H) *float64 { return &h.StartYears }, func(v float64) string { return say("field.years", "Years", v) }),
		partOf("field.baseline", func(h *H) *string { return &h.Baseline }, film),
		partOf("field.beam", func(h *H) *bool { return &h.BeamOff }, func(bool) string { return say("field.not-corrected") }),
	}
}

func givenParts() []part[study.Given] {
	type G = study.Given
	return []part[G]{
		partOf("field.date", func(g *G) *time.Time { return &g.Date }, day),
		partOf("field.view", func(g *G) *study.View { return &g.View }, func(v study.View) string { return string(v) }),
		partOf("field.black", func(g *G) *study.Black { return &g.Black }, func(v study.Black) string { return string(v) }),
		partOf("field.source", func(g *G) *float64 { return &g.SourceMM }, millimetres),
		{
			name: "field.middle",
			same: func(a, b G) bool { return centerText(a) == centerText(b) },
			text: centerText,
			take: func(to *G, from G) { to.Center = from.Center },
		},
		partOf("field.axes", func(g *G) *study.Axes { return &g.Axes }, func(a study.Axes) string {
			return say("field.lies", "Head", a.Head, "Front", a.Front, "Degrees", a.Obliquity)
		}),
	}
}

func centerText(g study.Given) string {
	if g.Center == nil {
		return say("field.not-entered")
	}
	return say("field.at", "X", g.Center.X, "Y", g.Center.Y)
}

func millimetres(v float64) string { return say("field.mm", "MM", v) }

// say returns the words of a key; values come as name and value.
func say(key string, values ...any) string { return study.Sentence(key, values...) }

func day(t time.Time) string { return t.Format(time.DateOnly) }
