package main

import (
	"fmt"
	"io"
	"path/filepath"
	"slices"

	"linerwatch/dicomio"
	"linerwatch/measure"
)

// emptySizes are the head diameters that films without a replaced hip are
// searched for, mm: those of the trade from the smallest to the largest.
var emptySizes = []float64{22.225, 28, 32, 36, 40, 44}

// Empty is what searches of films without a replaced hip gave.
type Empty struct {
	Films    int          `json:"films"`
	Searches int          `json:"searches"`
	Found    int          `json:"found"`
	PerFilm  float64      `json:"false_alarms_per_film"`
	Sizes    []EmptyLevel `json:"by_head_mm"`
	Kinds    []EmptyLevel `json:"by_kind"`
	Which    []string     `json:"which,omitempty"`
	films    map[string]bool
}

// EmptyLevel counts the searches of one head size, or of one kind of film.
type EmptyLevel struct {
	Level    string `json:"level"`
	Searches int    `json:"searches"`
	Found    int    `json:"found"`
}

// add counts one search.
func (e *Empty) add(v verdict) {
	f := v.film
	if e.films == nil {
		e.films = map[string]bool{}
	}
	e.films[f.set+"/"+f.hip+"/"+f.name] = true
	e.Films = len(e.films)
	e.Searches++
	if v.falseAlarm {
		e.Found++
		e.Which = append(e.Which, fmt.Sprintf("%s %s %s, head %g mm, side %q", f.set, f.hip, f.name, f.search.headMM, f.search.side))
	}
	e.PerFilm = float64(e.Found) / float64(e.Films)
	kind := f.set
	if i := slices.IndexFunc(f.factors, func(x factor) bool { return x.name == "kind" }); i >= 0 {
		kind = f.factors[i].level
	}
	e.Sizes = count(e.Sizes, fmt.Sprintf("%g", f.search.headMM), v.falseAlarm)
	e.Kinds = count(e.Kinds, kind, v.falseAlarm)
}

func count(levels []EmptyLevel, level string, found bool) []EmptyLevel {
	i := slices.IndexFunc(levels, func(l EmptyLevel) bool { return l.Level == level })
	if i < 0 {
		i = len(levels)
		levels = append(levels, EmptyLevel{Level: level})
	}
	levels[i].Searches++
	if found {
		levels[i].Found++
	}
	return levels
}

func (e *Empty) print(w io.Writer) {
	fmt.Fprintf(w, "\nwithout a replaced hip: %d films, %d searches, %d found one: %.3f false alarms a film\n", e.Films, e.Searches, e.Found, e.PerFilm)
	for _, by := range []struct {
		name   string
		levels []EmptyLevel
	}{{"head, mm", e.Sizes}, {"film", e.Kinds}} {
		for _, l := range by.levels {
			fmt.Fprintf(w, "  %-10s %-18s %5d searches %5d found\n", by.name, l.Level, l.Searches, l.Found)
		}
	}
	for _, line := range e.Which {
		fmt.Fprintln(w, "  FALSE ALARM", line)
	}
}

// emptySearches returns a film without a replaced hip once for each head size and
// each side, and without a side; it is loaded once for all of them.
func emptySearches(f film) (out []film) {
	load, loaded, ready := f.load, picture{}, false
	f.load = func() (picture, error) {
		var err error
		if !ready {
			loaded, err = load()
			ready = err == nil
		}
		return loaded, err
	}
	f.truth = nil
	for _, mm := range emptySizes {
		for _, side := range []measure.Side{measure.SideUnknown, measure.Right, measure.Left} {
			f.search = search{headMM: mm, side: side}
			out = append(out, f)
		}
	}
	return out
}

// openEmpty returns the radiographs in a folder, all of them without a replaced
// hip, one series a film.
func openEmpty(folder string) (all []series, err error) {
	paths, err := dicomio.Expand([]string{folder})
	if err != nil {
		return nil, err
	}
	for _, p := range paths {
		f := film{set: filepath.Base(folder), hip: filepath.Dir(p), name: filepath.Base(p), load: func() (picture, error) { return loadFile(p) }}
		all = append(all, series{f.name, emptySearches(f)})
	}
	return all, nil
}
