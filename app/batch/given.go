package batch

import (
	"path/filepath"

	"linerwatch/app/source"
	"linerwatch/app/study"
	"linerwatch/measure"
)

// Given is what a reader states about one film that is measured unattended.
// Points are in pixels of the film as it is measured: upright, pixels square.
type Given struct {
	Film   string            // its path or its file's name
	Line   *[2]measure.Point // ends of the reference line
	Rim    *[2]measure.Point // ends of the cup's rim
	Center *measure.Point    // where the central ray met the film
	Axes   study.Axes        // how the patient lies on a lateral film
	View   study.View        // empty for what the file says
}

// GivenError is the error of something stated about a film that is not among
// those to be measured, or about two of them.
type GivenError struct {
	Film string
	Why  study.Note
}

func (e *GivenError) Error() string { return "batch: " + e.Film + ": " + e.Why.String() }

// Says names the film.
func (e *GivenError) Says() study.Note {
	return study.Note{Code: "given.film", Values: study.Values{"Film": e.Film, "Why": e.Why}}
}

// checkGiven refuses statements whose film is none of the files or more than one.
func checkGiven(given []Given, files []source.File) error {
	for _, g := range given {
		n := 0
		for _, f := range files {
			if (study.Film{Path: f.Path}).Is(g.Film) {
				n++
			}
		}
		switch {
		case n == 0:
			return &GivenError{g.Film, study.Note{Code: "given.none"}}
		case n > 1:
			return &GivenError{g.Film, study.Note{Code: "given.several"}}
		}
	}
	return nil
}

// state puts what is stated about a film into it and its measurements-to-be.
func (o MeasureOptions) state(m *study.Measurement) (err error) {
	film := &m.Film
	film.Given.SourceMM = o.SourceMM
	for _, g := range o.Given {
		if !film.Is(g.Film) && filepath.Clean(film.Path) != filepath.Clean(g.Film) {
			continue
		}
		if g.Center != nil {
			film.Given.Center = g.Center
		}
		if g.View != "" {
			film.Given.View = g.View
		}
		if g.Axes != (study.Axes{}) {
			film.Given.Axes = g.Axes
		}
		if g.Line != nil {
			if m.Line, err = study.DrawLine(g.Line[0], g.Line[1], film.Facts.SpacingMM/measure.MiddlingMagnification); err != nil {
				return err
			}
		}
		if g.Rim != nil {
			if m.Rim, err = study.DrawRim(g.Rim[0], g.Rim[1]); err != nil {
				return err
			}
		}
	}
	return nil
}
