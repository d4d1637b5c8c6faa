package study

import (
	"cmp"
	"errors"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// FilmError is a contradiction that keeps films from making one series. It
// names them.
type FilmError struct {
	Films  []string // names, one or two
	Reason Note
	Hip    bool // what is entered of the hip contradicts the film
}

func (e *FilmError) Error() string {
	return "study: " + strings.Join(e.Films, " and ") + ": " + e.Reason.String()
}

// Says names the films, or the hip and the film, and the reason.
func (e *FilmError) Says() Note {
	v := texts.Values{"Film": e.Films[0], "Other": "", "Why": e.Reason}
	switch {
	case e.Hip:
		v["Film"], v["Other"] = Note{Code: "film.the-hip"}, e.Films[0]
	case len(e.Films) > 1:
		v["Other"] = e.Films[1]
	}
	return Note{Code: "film.fault", Values: v}
}

// PatientNote is what is said of an error where a patient may see it: it names no file.
func PatientNote(err error) Note {
	var f *FilmError
	if errors.As(err, &f) {
		return f.Reason
	}
	return NoteOf(err)
}

// Name returns what a reader calls the film: its file's name, or its ID.
func (f Film) Name() string {
	if f.Path != "" {
		return filepath.Base(f.Path)
	}
	return f.ID
}

// Is reports whether ref names the film: its ID, its path or its file's name.
func (f Film) Is(ref string) bool {
	if ref == "" {
		return false
	}
	return ref == f.ID || f.Path != "" && (filepath.Clean(ref) == filepath.Clean(f.Path) || ref == filepath.Base(f.Path))
}

// dateOrder returns the measurements in date order; films without a date come
// last.
func dateOrder(ms []Measurement) []Measurement {
	out := slices.Clone(ms)
	slices.SortStableFunc(out, func(a, b Measurement) int {
		if az, bz := a.Film.Date().IsZero(), b.Film.Date().IsZero(); az != bz {
			if az {
				return 1
			}
			return -1
		}
		if c := a.Film.Date().Compare(b.Film.Date()); c != 0 {
			return c
		}
		return cmp.Compare(a.Film.Name(), b.Film.Name())
	})
	return out
}

// checkSeries refuses films that cannot belong to one series of hip h. ms is in
// date order. Films that could not be read say nothing and are passed over.
func checkSeries(h Hip, ms []Measurement) error {
	if h.Surgery.IsZero() {
		return &FaultsError{[]Fault{{"surgery", surgeryFault(h.Surgery, h.Surgery)}}}
	}
	if why := startFault(h.StartYears); !why.IsZero() {
		return &FaultsError{[]Fault{{"start", why}}}
	}
	side := holder[measure.Side]{value: h.Side}
	patient := holder[string]{value: h.Patient}
	head := holder[float64]{}
	var before *Measurement
	for i := range ms {
		m := &ms[i]
		if m.Status == Failed {
			continue
		}
		if err := checkFilm(h, m); err != nil {
			return err
		}
		if before != nil && !m.Film.Date().IsZero() && midnight(before.Film.Date()).Equal(midnight(m.Film.Date())) {
			return &FilmError{Films: []string{before.Film.Name(), m.Film.Name()},
				Reason: Note{Code: "film.one-day", Values: texts.Values{"Date": dateText(m.Film.Date())}}}
		}
		before = m
		for _, s := range []measure.Side{m.Film.Side(), m.Side} {
			if !side.agrees(s, m.Film) {
				return mixed(side.from, m.Film, Note{Code: "film.sides", Values: texts.Values{"Side": side.value.String(), "Other": s.String()}})
			}
		}
		if !patient.agrees(m.Film.Facts.Patient, m.Film) {
			return mixed(patient.from, m.Film, Note{Code: "film.patients", Values: texts.Values{"Patient": patient.value, "Other": m.Film.Facts.Patient}})
		}
		if m.Status == Measured && !head.agrees(m.HeadMM, m.Film) {
			return mixed(head.from, m.Film, Note{Code: "film.heads", Values: texts.Values{"MM": head.value, "Other": m.HeadMM}})
		}
	}
	return nil
}

// checkFilm refuses a film that contradicts the hip on its own.
func checkFilm(h Hip, m *Measurement) error {
	switch {
	case m.Film.Date().IsZero() && m.Status == Measured:
		return &FilmError{Films: []string{m.Film.Name()}, Reason: Note{Code: "film.undated"}}
	case !m.Film.Date().IsZero() && h.Years(m.Film.Date()) < 0:
		return &FilmError{Films: []string{m.Film.Name()}, Reason: Note{Code: "film.early",
			Values: texts.Values{"Date": dateText(m.Film.Date()), "Surgery": dateText(h.Surgery)}}}
	case h.Later(m.Film):
		return &FilmError{Films: []string{m.Film.Name()}, Reason: exchanged(h, m.Film)}
	case m.Status == Measured && !finiteVector(m.Reading.Offset):
		return &FilmError{Films: []string{m.Film.Name()}, Reason: Note{Code: "film.not-finite"}}
	}
	return nil
}

// holder remembers the first value stated and the film that stated it, none where it is
// entered of the hip.
type holder[T comparable] struct {
	value T
	from  *Film
}

// agrees reports whether v is unstated or the same as before.
func (h *holder[T]) agrees(v T, f Film) bool {
	var none T
	if v == none || v == h.value {
		return true
	}
	if h.value != none {
		return false
	}
	h.value, h.from = v, &f
	return true
}

// mixed names the two that contradict each other; one film may contradict
// itself, or, where first is nil, the hip.
func mixed(first *Film, f Film, reason Note) error {
	names := []string{f.Name()}
	if first != nil && first.Name() != f.Name() {
		names = []string{first.Name(), f.Name()}
	}
	return &FilmError{Films: names, Reason: reason, Hip: first == nil}
}

// baselineOf returns the index of the baseline film among ms, in date order:
// the one that ref names, or the earliest measured film.
func baselineOf(ref string, ms []Measurement) (int, error) {
	if ref == "" {
		return slices.IndexFunc(ms, func(m Measurement) bool { return m.Status == Measured }), nil
	}
	found := -1
	for i, m := range ms {
		switch {
		case !m.Film.Is(ref):
		case m.Film.ID == ref || m.Film.Path == ref:
			found = i
			return found, measuredBaseline(ms[i])
		case found >= 0:
			return -1, &FilmError{Films: []string{ref}, Reason: Note{Code: "baseline.several"}}
		default:
			found = i
		}
	}
	if found < 0 {
		return -1, &FilmError{Films: []string{ref}, Reason: Note{Code: "baseline.none"}}
	}
	return found, measuredBaseline(ms[found])
}

func measuredBaseline(m Measurement) error {
	if m.Status == Measured {
		return nil
	}
	return &FilmError{Films: []string{m.Film.Name()}, Reason: Note{Code: "baseline.unmeasured", Values: texts.Values{"Why": m.Reason}}}
}

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

func finiteVector(v measure.Vector) bool {
	return finite(v.Superior, v.Medial, v.Cov[0][0], v.Cov[0][1], v.Cov[1][0], v.Cov[1][1])
}
