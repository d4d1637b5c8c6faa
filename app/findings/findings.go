package findings

import (
	"slices"
	"strings"

	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Options say what is told of a study.
type Options struct {
	Whose string // reader whose readings count, or study.Anyone
	// Speech is the language of names of groups, reasons and kinds; the zero value that of the program.
	Speech texts.Speech
	By     By           // what hips are compared by
	Lists  []study.List // that films were read from
	// Model has the mixed model fitted, which takes longest; Checks has its residuals told
	// too.
	Model, Checks bool
}

// By is what hips are put into groups by.
type By string

// The groupings.
const (
	ByGroup    By = "" // the group of the study
	ByPE       By = "polyethylene"
	ByMaterial By = "material"
	ByHead     By = "head"
)

// Groupings lists them by the words of the command line.
func Groupings() []By { return []By{"group", ByPE, ByMaterial, ByHead} }

// ParseBy reads the word of a grouping.
func ParseBy(s string) (By, bool) {
	if s == "group" {
		return ByGroup, true
	}
	return By(s), slices.Contains(Groupings(), By(s))
}

// UnknownGroup is the group of hips of which what others are compared by is not known; it
// is no group's name in a study.
const UnknownGroup = "?"

func (b By) of(say study.Say, h study.Hip) string {
	word := h.Group
	switch m := h.Implant; b {
	case ByPE:
		word = study.ChoiceIn(say, "polyethylene", m.PE)
	case ByMaterial:
		word = study.ChoiceIn(say, "material", m.HeadMaterial)
	case ByHead:
		if word = ""; m.HeadMM > 0 {
			word = strings.Replace(digits(m.HeadMM), ".", say("number.mark", nil), 1) + " mm"
		}
	}
	return strings.Join(strings.Fields(word), " ")
}

// Hip is a hip with what its films tell.
type Hip struct {
	study.Hip
	In     string    // its group; empty where there are no groups
	Films  []HipFilm // whose penetration is known, in date order
	Fit    *study.TrendFit
	Why    study.Note // no rate, or no interval
	Refuse study.Note // why its films make no series
}

// HipFilm is the superior penetration of a film.
type HipFilm struct {
	study.Point
	InLine, Baseline bool
}

// Findings are what a study tells.
type Findings struct {
	Options
	Hips   []Hip
	Groups []string // in order; one empty where there are no groups

	HipFlow, FilmFlow Flow
	Visits            []Visit
	Cohort            Cohort
	Above             []Above
	Readers           Readers
	Reading           Reading
	Liners            Liners
	Described         Described
	Hand              Hand
}

// Gatherer takes a study hip by hip.
type Gatherer struct {
	Options
	hips    []Hip
	films   filmCount
	unread  []study.Film
	agree   *study.Agreeing
	reading Reading
	liners  []liner
	readers map[string]bool
	told    Described
	hand    Hand
}

// New begins with a study of no hips.
func New(o Options) *Gatherer {
	return &Gatherer{Options: o, readers: map[string]bool{}, agree: study.NewAgreeing(o.Lists, false), reading: newReading(o.Lists)}
}

// Wait takes a film that is of no hip.
func (g *Gatherer) Wait(f study.Film) { g.unread = append(g.unread, f) }

// Add takes a hip.
func (g *Gatherer) Add(r study.Record) {
	h := Hip{Hip: r.Hip, In: g.By.of(g.Speech.Say, r.Hip)}
	w := r.Work(g.Whose)
	entries, t, err := w.Entries, w.Trend, w.Err
	h.Fit, h.Why = t.Fit, w.Summary.Why
	if err != nil {
		h.Fit = nil
		h.Refuse = study.NoteOf(err)
	} else {
		h.Films = filmsOf(t)
	}
	g.hips = append(g.hips, h)
	for _, reader := range r.Readers() {
		g.readers[reader] = true
	}
	g.films.add(g.Speech.Say, r, h, t, err, entries)
	g.agree.Add(r)
	g.reading.add(r)
	g.addLiner(r)
	g.told.add(r, g.Speech.Say)
	g.hand.add(r, entries, g.Whose)
}

// filmsOf are the penetrations of a trend as a study's table of films holds them.
func filmsOf(t study.Trend) []HipFilm {
	var out []HipFilm
	base, _ := t.BaselineSE()
	for _, p := range t.Penetration {
		se, _ := p.SE()
		out = append(out, HipFilm{InLine: p.InLine, Baseline: p.Film.ID == t.Baseline.ID,
			Point: study.Point{Years: p.Years, MM: p.Superior, SE: se, SEBase: base, SEScale: t.ScaleSE()}})
	}
	return out
}

// Has reports whether a reader has a reading that stands among the hips taken so far.
func (g *Gatherer) Has(reader string) bool { return g.readers[reader] }

// Tell computes what the hips taken so far tell.
func (g *Gatherer) Tell() Findings {
	f := Findings{Options: g.Options, Hips: g.hips, Described: g.told.done(), Hand: g.hand}
	f.setGroups()
	f.HipFlow, f.FilmFlow = hipFlow(f.Hips), g.films.flow(g.unread)
	f.Visits = visits(f.Hips, f.Groups)
	f.Above = above(f.Hips, f.Groups)
	if g.Model || g.Checks {
		f.Cohort = cohort(f.Hips, f.Groups, g.Checks)
	} else {
		f.Cohort.WhyMixed, f.Cohort.WhyOwn = said("findings.not-asked"), said("findings.not-asked")
	}
	f.Readers, f.Reading = judged(g.agree), g.reading.done()
	f.Liners = liners(g.liners, f.Hips)
	return f
}

// setGroups lists the groups. Where only some hips have one, the others are a group of
// their own.
func (f *Findings) setGroups() {
	some := slices.ContainsFunc(f.Hips, func(h Hip) bool { return h.In != "" })
	for i := range f.Hips {
		h := &f.Hips[i]
		if h.In == "" && some {
			h.In = UnknownGroup
		}
		if !slices.Contains(f.Groups, h.In) {
			f.Groups = append(f.Groups, h.In)
		}
	}
	slices.Sort(f.Groups)
}
