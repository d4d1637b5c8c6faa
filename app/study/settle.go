package study

import (
	"math"
	"slices"

	"linerwatch/wearfit"
	"linerwatch/wearfit/settle"
)

const (
	settleModel = "bedding-in and rate, all films"
	courseModel = "with the cohort, all films"
)

// settleSeed is of the draws: the same films tell the same.
const settleSeed = 1

// Settle fits bedding-in that dies away beside wear that goes on to all films of a
// cohort, both of each hip's own; see package settle. It returns the fixed effects by
// group and covariate, what varies between hips, and each hip's bedding-in, rate and
// penetration at o.AtYears by its films and the cohort. The start of the steady state is
// not asked for. A hip's baseline film that rows do not list is taken to be at surgery.
// Hips of one patient are taken as independent, and said to be.
func Settle(rows []CohortRow, o CohortOptions) ([]Quantity, error) {
	s, err := newAllFilms(rows, o)
	if err != nil {
		return nil, err
	}
	if err := s.settle(settle.Options{Uncorrelated: o.Uncorrelated}); err != nil {
		return nil, err
	}
	out := slices.Concat(s.fixed(), s.times(), s.between(), s.counts())
	for _, h := range s.films {
		c, _ := s.belief.Hip(h.hip)
		out = append(out, s.course(h, c)...)
	}
	return out, nil
}

// settle fits the model and draws what it leaves open.
func (s *allFilms) settle(o settle.Options) (err error) {
	if s.fit, err = settle.Fit(s.table(), o); err != nil {
		return err
	}
	s.belief, err = s.fit.Believe(settleSeed)
	return err
}

// allFilms is the films of a cohort and the model of all of them. Columns are those of
// bedding-in, then those of the rate.
type allFilms struct {
	cohort
	films    []hipFilms // of each hip in order of appearance, its baseline film among them
	known    float64    // root mean square of the readings' stated errors, mm; 0 where none is
	unlisted int        // hips whose baseline film is not among the rows
	pairs    int        // patients with more than one hip
	onTau    []column   // of the logarithm of the time constant
	fit      *settle.Cohort
	belief   *settle.Belief
}

func newAllFilms(rows []CohortRow, o CohortOptions) (*allFilms, error) {
	rows = sinceBaseline(rows)
	c, err := describe(rows, o)
	if err != nil {
		return nil, err
	}
	s := &allFilms{cohort: c}
	points, hipsOf := map[string][]Point{}, map[string]int{}
	var order []string
	all := make([]int, len(rows))
	for i, r := range rows {
		all[i] = i
		if points[r.Hip] == nil {
			order = append(order, r.Hip)
			hipsOf[r.Patient]++
		}
		points[r.Hip] = append(points[r.Hip], r.Point)
	}
	s.setMeans(rows, all)
	s.setColumns(ofBedding)
	s.onTau = s.onTime()
	slices.SortStableFunc(s.columns, func(a, b column) int { return int(indicator(a.onRate) - indicator(b.onRate)) })
	for _, hip := range order {
		h := newHipFilms(hip, points[hip], s.start)
		if h.base.row < 0 {
			s.unlisted++
		}
		s.films = append(s.films, h.whole())
	}
	for patient, n := range hipsOf {
		if patient != "" && n > 1 {
			s.pairs++
		}
	}
	return s, nil
}

// table is all films, with the errors of the readings where any is stated. Where a hip's
// are not, they are taken for the others' root mean square.
func (s *allFilms) table() settle.Data {
	var d settle.Data
	var known []float64
	for _, h := range s.films {
		known = append(known, h.se...)
	}
	s.known = wearfit.RMS(known)
	for _, h := range s.films {
		for i, t := range h.t {
			d.Hip, d.Time, d.Value = append(d.Hip, h.hip), append(d.Time, t), append(d.Value, h.y[i])
			switch {
			case h.se != nil:
				d.SE = append(d.SE, h.se[i])
			case s.known > 0:
				d.SE = append(d.SE, s.known)
				s.unknown++
			}
		}
	}
	for _, col := range s.columns {
		into := &d.Creep
		if col.onRate {
			into = &d.Rate
		}
		*into = append(*into, s.values(col, d.Hip))
	}
	for _, col := range s.onTau {
		d.Tau = append(d.Tau, s.values(col, d.Hip))
	}
	return d
}

// values are a column for the hip of each row.
func (s *allFilms) values(col column, hips []string) []float64 {
	return mapped(hips, func(hip string) float64 { return col.of(s.hips[hip]) })
}

// fixed are the fixed effects, and bedding-in and rate of each group.
func (s *allFilms) fixed() []Quantity {
	var out []Quantity
	for j, col := range s.columns {
		x := make([]float64, len(s.columns))
		x[j] = 1
		out = append(out, s.estimate("", col.name, col.unit, x))
	}
	if len(s.groups) > 1 {
		for g, name := range s.groups {
			bedding, rate := s.lineOf(hipOf{group: g, covariates: s.means})
			out = append(out, s.estimate(name, ofBedding.level, unitMM, bedding), s.estimate(name, "rate", unitRate, rate))
		}
	}
	return out
}

func (s *allFilms) estimate(of, name, unit string, x []float64) Quantity {
	q := estimated(of, settleModel, name, unit, s.fit.Combine(x)).made(BySettling)
	if !s.fit.High {
		q = q.noted("settle.long")
	}
	return q
}

// between are the time constant and what varies between hips and films.
func (s *allFilms) between() []Quantity {
	f := s.fit
	number := func(name, unit string, v float64) Quantity {
		return Quantity{Model: settleModel, Name: name, Unit: unit, Value: v}.made(BySettling)
	}
	tau := number("time constant of the middle hip", unitYear, f.Tau).within(f.TauInterval(level)).made(ByProfile)
	if !f.Low {
		tau = tau.noted("settle.short")
	}
	if !f.High {
		tau = tau.noted("settle.long")
	}
	beyond := ""
	if slices.ContainsFunc(s.films, func(h hipFilms) bool { return h.se != nil }) {
		beyond = ", beyond the readings' stated errors"
	}
	out := []Quantity{
		tau,
		number("SD of the logarithm of the time constant between hips", "", f.SDLogTau),
		number("SD of bedding-in between hips", unitMM, f.SDCreep),
		number("SD of rates between hips", unitRate, f.SDRate),
	}
	corr := number("correlation of bedding-in and rate", "", f.Corr)
	switch {
	case !f.Uncorrelated:
		out = append(out, corr)
	case !s.options.Uncorrelated:
		out = append(out, corr.without(Note{Code: "settle.uncorrelated"}))
	}
	out = append(out, number("residual SD"+beyond, unitMM, f.Sigma), number("log-likelihood of the differences between films", "", f.LogLik))
	if f.Boundary {
		out = append(out, Quantity{Model: settleModel, Name: "boundary", Value: 1, Note: Note{Code: "settle.boundary"}})
	}
	if !f.Converged {
		out = append(out, Quantity{Model: settleModel, Name: "search", Value: 1, Note: Note{Code: "settle.unsettled"}})
	}
	return out
}

// counts are what the model rests on.
func (s *allFilms) counts() []Quantity {
	out := []Quantity{counted("", settleModel, "hips", s.fit.Hips), counted("", settleModel, "films", s.fit.Films)}
	for _, c := range []struct {
		name string
		n    int
	}{
		{"hips whose baseline film is not listed: taken to be at surgery", s.unlisted},
		{"films whose error is not stated: taken for the others' root mean square", s.unknown},
		{"patients whose hips are taken as independent", s.pairs},
	} {
		if c.n > 0 {
			out = append(out, counted("", settleModel, c.name, c.n))
		}
	}
	return append(out, counted("", settleModel, "independent draws of the cohort that courses rest on", int(math.Round(s.belief.Effective))))
}

// course is what a hip's films and the cohort tell of the hip. An error of the scale,
// which all its films share, widens what is in mm.
func (s *allFilms) course(h hipFilms, c settle.Course) []Quantity {
	told := func(name, unit string, v settle.Between) Quantity {
		v.Interval = scaled(v.Value, v.Interval, h.scale)
		q := Quantity{Of: h.hip, Model: courseModel, Name: name, Unit: unit, Value: v.Value}.within(v.Interval).made(ByCourse)
		if !s.fit.High {
			q = q.noted("settle.range")
		}
		return q
	}
	bedding := told(ofBedding.level, unitMM, c.Creep(level))
	bedding.Note = listed(append([]Note{bedding.Note}, h.notes...))
	out := []Quantity{bedding, told("rate", unitRate, c.Rate(level))}
	for _, t := range s.options.AtYears {
		out = append(out, told("penetration at year "+digits(t), unitMM, c.Penetration(t, level)),
			told("one further film at year "+digits(t), unitMM, c.Next(t, wearfit.RMS(h.others()), level)))
	}
	return out
}
