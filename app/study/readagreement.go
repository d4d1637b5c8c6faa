package study

import (
	"slices"

	"linerwatch/assets/texts"
)

// StudyAgreement is how far the readers of a study agree: with each other, with themselves on
// another occasion, and over double examinations.
type StudyAgreement struct {
	Quantities []Quantity
	Pairs      []AgreePair
	Passed     []Note // how many readings were passed over, and why
	Hips       int
	Films      int // of a hip, with a reading that counts here
	Readings   int
	Readers    []string
	Blind      int // readings of a list, by a reader who read nothing openly meanwhile
	Sighted    int // readings of a list, by one who did
	Doubles    int // double examinations
}

// AgreePair is what a plot of differences against means shows: of two readers, or of two
// occasions or films of one.
type AgreePair struct {
	Of         string // "R1 less R2"
	Kind       PairKind
	Mean, Diff []float64 // mm, one of each film
}

// PairKind says what a pair compares.
type PairKind string

// The kinds of pair.
const (
	BetweenReaders  PairKind = "between"
	WithinReader    PairKind = "within"
	DoubleExamining PairKind = "double"
)

// Words says what is compared.
func (k PairKind) Words() string {
	switch k {
	case WithinReader:
		return texts.Say("agree.within", nil)
	case DoubleExamining:
		return texts.Say("agree.double", nil)
	}
	return texts.Say("agree.between", nil)
}

// AgreementOf judges the readings of a study by the component of the offset of the head from
// the cup, mm, each for its hip as it is now and those of a film by one method. A target is a
// film of a hip; of a reader each occasion is one reading, and of a correction the last.
// Readings that were withdrawn, of films that are left out, by a reader who left the film out,
// without a measurement, or of an adjudication are passed over.
func AgreementOf(records []Record, lists []List, medial bool) (StudyAgreement, error) {
	g := NewAgreeing(lists, medial)
	for _, r := range records {
		g.Add(r)
	}
	return g.Judge()
}

// Agreeing gathers what AgreementOf judges, hip by hip.
type Agreeing struct {
	out     StudyAgreement
	medial  bool
	rows    []AgreeRow
	twice   []AgreeRow        // of double examinations
	doubles map[string]string // double examination by hip and film
	passed  map[string]int
	seen    sights
}

// NewAgreeing gathers for AgreementOf.
func NewAgreeing(lists []List, medial bool) *Agreeing {
	return &Agreeing{medial: medial, doubles: doublesOf(lists), passed: map[string]int{}, seen: newSights(lists)}
}

// Apart gathers for g of other hips, which Join then takes.
func (g *Agreeing) Apart() *Agreeing {
	return &Agreeing{medial: g.medial, doubles: g.doubles, passed: map[string]int{}, seen: newSights(g.seen.lists)}
}

// Add takes the readings of a hip.
func (g *Agreeing) Add(r Record) {
	n := len(g.rows)
	g.seen.look(r.Readings)
	for _, f := range r.Films {
		g.add(r, f)
	}
	if len(g.rows) > n {
		g.out.Hips++
	}
}

// Join takes what was gathered of other hips.
func (g *Agreeing) Join(other *Agreeing) {
	g.rows, g.twice = append(g.rows, other.rows...), append(g.twice, other.twice...)
	g.out.Hips, g.out.Films = g.out.Hips+other.out.Hips, g.out.Films+other.out.Films
	g.seen.join(other.seen)
	for _, r := range other.out.Readers {
		if !slices.Contains(g.out.Readers, r) {
			g.out.Readers = append(g.out.Readers, r)
		}
	}
	for code, n := range other.passed {
		g.passed[code] += n
	}
}

// Rename calls readers otherwise.
func (g *Agreeing) Rename(told func(reader string) string) {
	for _, rows := range [][]AgreeRow{g.rows, g.twice} {
		for i := range rows {
			rows[i].Reader = told(rows[i].Reader)
		}
	}
	for i, r := range g.out.Readers {
		g.out.Readers[i] = told(r)
	}
}

// Judge computes what is told of the readings that were gathered.
func (g *Agreeing) Judge() (StudyAgreement, error) {
	g.out.Readings = len(g.rows)
	g.out.Blind, g.out.Sighted = g.seen.count()
	for _, code := range []string{"agree.withdrawn", "agree.left-out", "agree.no-result", "agree.adjudicated", "agree.corrected"} {
		if n := g.passed[code]; n > 0 {
			g.out.Passed = append(g.out.Passed, Note{Code: code, Values: Values{"N": float64(n)}})
		}
	}
	return g.judge()
}

// doublesOf returns the double examinations that lists name.
func doublesOf(lists []List) map[string]string {
	out := map[string]string{}
	for _, l := range lists {
		for _, p := range l.Places {
			if p.Double != "" {
				out[p.HipID+" "+p.FilmID] = p.Double
			}
		}
	}
	return out
}

// add takes the readings of a film.
func (g *Agreeing) add(r Record, f Film) {
	target := r.Hip.ID + " " + f.ID
	double := g.doubles[target]
	if double == "" {
		double = r.double(f)
	}
	list := g.judged(r, f)
	how := Method{Beam: !r.Hip.BeamOff, Line: !slices.ContainsFunc(list, func(m Reading) bool { return m.Line.From == NoLine })}
	for _, m := range list {
		if by, ok := m.By(how); ok {
			m.Measurement = by
		}
		v := m.Measurement.Reading.Offset.Superior
		if g.medial {
			v = m.Measurement.Reading.Offset.Medial
		}
		row := AgreeRow{Target: target, Reader: m.Reader, Of: r.Hip.ID, Value: v}
		g.rows = append(g.rows, row)
		if l := m.Listed.List; l != "" {
			g.seen.read[l] = append(g.seen.read[l], m.At)
		}
		if !slices.Contains(g.out.Readers, m.Reader) {
			g.out.Readers = append(g.out.Readers, m.Reader)
		}
		if double != "" && m.Listed.Occasion <= 1 {
			row.Target = r.Hip.ID + " " + double
			g.twice = append(g.twice, row)
		}
	}
	if len(list) > 0 {
		g.out.Films++
	}
}

// judged returns the readings of a film that are judged, one of each occasion, and counts the
// others.
func (g *Agreeing) judged(r Record, f Film) (out []Reading) {
	var standing []Reading
	for _, m := range r.Readings {
		switch {
		case m.FilmID != f.ID:
		case !m.Stands():
			g.passed["agree.withdrawn"]++
		case r.unread(f.ID) || r.leftOutBy(f.ID, m.Reader):
			g.passed["agree.left-out"]++
		default:
			standing = append(standing, m)
		}
	}
	occasions := occasionsOf(standing)
	if n := len(standing) - len(occasions); n > 0 {
		g.passed["agree.corrected"] += n
	}
	for _, m := range occasions {
		switch m.Measurement = m.For(r.Hip); {
		case m.adjudicates():
			g.passed["agree.adjudicated"]++
		case m.Status != Measured:
			g.passed["agree.no-result"]++
		default:
			out = append(out, m)
		}
	}
	return out
}

// judge computes the numbers.
func (g *Agreeing) judge() (StudyAgreement, error) {
	slices.Sort(g.out.Readers)
	if n := g.out.Films; n < 3 {
		return g.out, NewError("agreement.few-films", Values{"N": float64(n)})
	}
	out, err := Agreement(g.rows, "mm")
	if err != nil {
		return g.out, err
	}
	a, err := arrange(g.rows)
	if err != nil {
		return g.out, err
	}
	twice, err := arrange(g.twice)
	if err != nil {
		return g.out, err
	}
	for _, r := range twice.readers {
		for _, q := range twice.repeat(r, "mm") {
			q.Model = DoubleExaminations
			out = append(out, q)
		}
	}
	g.out.Quantities, g.out.Doubles = out, len(twice.targets)
	for i, r := range a.readers {
		for _, s := range a.readers[i+1:] {
			g.pair(AgreePair{Of: r + " less " + s, Kind: BetweenReaders}, a, r, s)
		}
	}
	for _, r := range a.readers {
		g.repeats(AgreePair{Of: r, Kind: WithinReader}, a, r)
		g.repeats(AgreePair{Of: r, Kind: DoubleExamining}, twice, r)
	}
	return g.out, nil
}

// pair adds the differences of two readers, each by the mean of the occasions.
func (g *Agreeing) pair(p AgreePair, a readings, r, s string) {
	for _, t := range a.targets {
		u, v := a.of[[2]string{t, r}], a.of[[2]string{t, s}]
		if len(u) > 0 && len(v) > 0 {
			p.add(mean(u), mean(v))
		}
	}
	g.keep(p)
}

// repeats adds the differences of a reader's first two readings of a target, first less second.
func (g *Agreeing) repeats(p AgreePair, a readings, r string) {
	for _, t := range a.targets {
		if v := a.of[[2]string{t, r}]; len(v) > 1 {
			p.add(v[0], v[1])
		}
	}
	g.keep(p)
}

func (p *AgreePair) add(u, v float64) {
	p.Mean, p.Diff = append(p.Mean, (u+v)/2), append(p.Diff, u-v)
}

func (g *Agreeing) keep(p AgreePair) {
	if len(p.Mean) > 0 {
		g.out.Pairs = append(g.out.Pairs, p)
	}
}

// Limits returns bias and limits of agreement of a pair of readers as the quantities have
// them; ok is false of other pairs, and where there are none.
func (a StudyAgreement) Limits(p AgreePair) (bias, lower, upper Quantity, ok bool) {
	n := 0
	for _, q := range a.Quantities {
		if q.Of != p.Of || q.Model != "Bland-Altman" || p.Kind != BetweenReaders {
			continue
		}
		switch q.Name {
		case "bias":
			bias = q
			n++
		case "lower limit of agreement":
			lower = q
			n++
		case "upper limit of agreement":
			upper = q
			n++
		}
	}
	return bias, lower, upper, n == 3
}

// Reported says of the agreement what is to be reported beside its numbers, as the guidelines
// of Kottner et al. (2011, GRRAS, J Clin Epidemiol 64:96-106) ask: who was read, by whom,
// how, and how it was computed.
func (a StudyAgreement) Reported() []Note {
	return append([]Note{
		{Code: "agree.subjects", Values: Values{"Hips": float64(a.Hips), "Films": float64(a.Films)}},
		{Code: "agree.raters", Values: Values{"N": float64(len(a.Readers)), "Readings": float64(a.Readings)}},
		{Code: "agree.process", Values: Values{"Blind": float64(a.Blind), "Sighted": float64(a.Sighted), "Others": float64(a.Readings - a.Blind - a.Sighted)}},
		{Code: "agree.doubles", Values: Values{"N": float64(a.Doubles)}},
		{Code: "agree.computed"},
	}, a.Passed...)
}
