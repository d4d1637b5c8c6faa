package study

import (
	"fmt"
	"slices"

	"linerwatch/assets/texts"
	"linerwatch/wearfit"
)

// ModelKind is one way to describe the penetration over time: what it is called, what it
// needs, and its fit. Window, commands, tables and figures know a model by what
// stands here.
type ModelKind struct {
	Code  string // on the command line, and what the program calls it
	Name  string // in tables, where it is a code and the same in every language
	Title string // code of its name for people
	About string // code of its line of the help; empty where it is Robust

	// Steady says that it describes the steady state: it is fitted to the films in
	// it. Otherwise it is fitted to all films, the baseline film among them, and describes
	// the time from surgery on.
	Steady bool
	Least  int // films that it needs
	// Robust says that it stands beside another model to bear a stray film: it comes
	// with all models, not alone.
	Robust bool

	compared string // its name in wearfit.Compare, empty where it is not compared
	fit      func(m *Model, h hipFilms) error
}

// Words returns the model's name for people.
func (k ModelKind) Words() string { return texts.Say(k.Title, nil) }

// Help returns the model's line of the help.
func (k ModelKind) Help() string { return texts.Say(k.About, nil) }

// modelKinds are the models in the order in which they are shown. The first is
// what is meant where none is named.
var modelKinds = []ModelKind{
	steadyLine,
	theilSenLine,
	huberLine,
	brokenLine,
	beddingCurve,
}

// ModelKinds returns the models in the order in which they are shown; the first is
// what is meant where none is named.
func ModelKinds() []ModelKind { return slices.Clone(modelKinds) }

// FitAll asks FitModels for every model.
const FitAll = "all"

// NoModelError says that there is no model of a code.
type NoModelError struct{ Code string }

// Error implements error.
func (e *NoModelError) Error() string { return fmt.Sprintf("study: no model %q", e.Code) }

// Says names the code.
func (e *NoModelError) Says() Note {
	return Note{Code: "model.none", Values: texts.Values{"Code": e.Code}}
}

// KindsOf returns the models that a code asks for: "" the first, FitAll every one
// with the robust ones last, else the one of that code, which is not a robust one.
// It fails with a *NoModelError.
func KindsOf(code string) ([]ModelKind, error) {
	if code == "" {
		return modelKinds[:1:1], nil
	}
	var asked, robust []ModelKind
	for _, k := range modelKinds {
		switch {
		case code == k.Code && !k.Robust:
			return []ModelKind{k}, nil
		case code != FitAll:
		case k.Robust:
			robust = append(robust, k)
		default:
			asked = append(asked, k)
		}
	}
	if asked == nil {
		return nil, &NoModelError{code}
	}
	return append(asked, robust...), nil
}

// to fits the model to a hip's films.
func (k ModelKind) to(h hipFilms) Model {
	m := Model{ModelKind: k, seen: map[float64]wearfit.Interval{}}
	if k.Steady {
		h, m.From = h.late(), h.start
	} else {
		h = h.whole()
	}
	m.Films = len(h.t)
	err := error(&wearfit.TooFewError{N: len(h.t), Need: k.Least})
	if len(h.t) >= k.Least {
		err = k.fit(&m, h)
	}
	if err != nil {
		m.unfitted(h.hip, err)
		return m
	}
	m.Fitted = true
	m.doubt(h)
	return m
}
