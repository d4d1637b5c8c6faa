package study

import (
	"slices"

	"linerwatch/wearfit"
	"linerwatch/wearfit/settle"
)

// CohortModel is the code of a hip's model by its films and the other hips of a study.
const CohortModel = "cohort"

var cohortKind = ModelKind{Code: CohortModel, Name: courseModel, Title: "model.cohort", Least: 1}

// fewPeers is the code of the note that peers are too few.
const fewPeers = "settle.few-peers"

// leastPeers is the fewest hips of which it has been looked at how often a course's
// intervals hold (go run ./wearfit/bench -settling).
const leastPeers = 5

// Peers are hips that stand beside one: the superior component of their films. The zero
// value is none.
type Peers struct{ list []hipFilms }

// Add adds a hip by its trend; a film alone tells nothing of its course.
func (p *Peers) Add(t Trend) {
	if h := t.films(Superior); len(h.t) > 1 {
		p.list = append(p.list, h)
	}
}

// Fit fits bedding-in and rate to all their films, as Settle does. It fails where hips
// are too few, or their films tell too little.
func (p *Peers) Fit() (*PeerFit, error) {
	if len(p.list) < leastPeers {
		return nil, NewError(fewPeers, Values{"N": float64(len(p.list)), "Need": float64(leastPeers)})
	}
	f := &PeerFit{all: allFilms{films: p.list}}
	if err := f.all.settle(settle.Options{}); err != nil {
		return nil, err
	}
	return f, nil
}

// Unfitted is the model with the peers where their fit failed; false where it did not, or
// where they are but too few for one.
func Unfitted(err error) (Model, bool) {
	if err == nil {
		return Model{}, false
	}
	m := Model{ModelKind: cohortKind}
	m.unfitted("", err)
	return m, m.Note.Code != fewPeers
}

// PeerFit is the fitted cohort of a hip's peers. It belongs to one goroutine.
type PeerFit struct {
	all   allFilms
	of    hipFilms // that model is of
	model Model
}

// Model returns the model of a hip that is none of the peers: what its films and they
// tell of its superior component. That of the films of the call before is kept.
func (f *PeerFit) Model(t Trend) Model {
	h := t.films(Superior)
	same := h.hip == f.of.hip && h.scale == f.of.scale && slices.Equal(h.t, f.of.t) && slices.Equal(h.y, f.of.y) && slices.Equal(h.se, f.of.se)
	if !same || f.model.seen == nil {
		k := cohortKind
		k.fit = f.fit
		f.of, f.model = h, k.to(h)
	}
	return f.model
}

func (f *PeerFit) fit(m *Model, h hipFilms) error {
	c, err := f.all.belief.Course(settle.Films{Hip: h.hip, Time: h.t, Value: h.y, SE: f.errors(h)})
	if err != nil {
		return err
	}
	m.Figures = f.all.course(h, c)
	m.told(m.Figures[1])
	notes := []Note{{Code: "settle.peers", Values: Values{"N": float64(c.Hips)}}, m.Figures[1].Note}
	if f.all.fit.Uncorrelated {
		notes = append(notes, Note{Code: "settle.uncorrelated"})
	}
	if !f.all.fit.Converged {
		notes = append(notes, Note{Code: "settle.unsettled"})
	}
	m.Note = listed(notes)
	seen := map[float64]settle.Between{}
	at := func(t float64) settle.Between {
		v, ok := seen[t]
		if !ok {
			v = c.At(t, level)
			seen[t] = v
		}
		return v
	}
	m.mean = func(t float64) float64 { return at(t).Value }
	m.band = func(t float64) wearfit.Interval { return at(t).Interval }
	m.next = func(t float64) wearfit.Interval { return c.Next(t, wearfit.RMS(h.others()), level).Interval }
	return nil
}

// errors are those of the hip's readings as the peers' are known: none where theirs are
// not, theirs where its own are not.
func (f *PeerFit) errors(h hipFilms) []float64 {
	switch {
	case f.all.known == 0:
		return nil
	case h.se != nil:
		return h.se
	}
	return slices.Repeat([]float64{f.all.known}, len(h.t))
}
