package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linerwatch/dicomio"
	"linerwatch/measure"
)

// hipFile is a truth.json; doc.go describes the format.
type hipFile struct {
	Side   string         `json:"side"`
	HeadMM float64        `json:"head_mm"`
	Cup    string         `json:"cup"`
	Kind   string         `json:"kind"`
	Films  []filmRow      `json:"films"`
	All    map[string]any `json:"-"`
}

// filmRow is a film in a truth.json.
type filmRow struct {
	Film    string         `json:"film"`
	Date    string         `json:"date"`
	Head    []float64      `json:"head"`
	Cup     []float64      `json:"cup"`
	CupArc  []float64      `json:"cup_arc"`
	MM      float64        `json:"mm_per_px"`
	Offset  []float64      `json:"offset"`
	Roll    float64        `json:"roll_deg"`
	CupKind string         `json:"cup_kind"`
	All     map[string]any `json:"-"`
}

// UnmarshalJSON keeps every field for the factors besides those that are known.
func (h *hipFile) UnmarshalJSON(data []byte) error {
	type plain hipFile
	return errors.Join(json.Unmarshal(data, (*plain)(h)), json.Unmarshal(data, &h.All))
}

// UnmarshalJSON is as that of hipFile.
func (r *filmRow) UnmarshalJSON(data []byte) error {
	type plain filmRow
	return errors.Join(json.Unmarshal(data, (*plain)(r)), json.Unmarshal(data, &r.All))
}

// openFolder returns the hips below a folder, each with a truth.json.
func openFolder(folder string) (all []series, err error) {
	names, err := filepath.Glob(filepath.Join(folder, "*", "truth.json"))
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(filepath.Join(folder, "truth.json")); err == nil {
		names = append(names, filepath.Join(folder, "truth.json"))
	}
	if len(names) == 0 {
		return nil, fmt.Errorf("%s: no folder with a truth.json in it", folder)
	}
	slices.Sort(names)
	for _, name := range names {
		s, err := openHip(filepath.Base(folder), name)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		all = append(all, s)
	}
	return all, nil
}

// openHip reads a truth.json.
func openHip(set, name string) (s series, err error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return s, err
	}
	var h hipFile
	if err := json.Unmarshal(data, &h); err != nil {
		return s, err
	}
	dir := filepath.Dir(name)
	s.hip = filepath.Base(dir)
	side, err := measure.ParseSide(h.Side)
	if err != nil {
		return s, err
	}
	if len(h.Films) == 0 { // nothing is replaced on the films beside it
		paths, err := dicomio.Expand([]string{dir})
		if err != nil {
			return s, err
		}
		for _, p := range paths {
			h.Films = append(h.Films, filmRow{Film: filepath.Base(p)})
		}
	}
	slices.SortStableFunc(h.Films, func(a, b filmRow) int { return strings.Compare(a.Date, b.Date) })
	for _, row := range h.Films {
		path := filepath.Join(dir, row.Film)
		f := film{
			set: set, hip: s.hip, name: row.Film, factors: factorsOf(h, row),
			search: search{headMM: h.HeadMM, side: side, readAs: side},
			load:   func() (picture, error) { return loadFile(path) },
		}
		if f.truth, err = row.truth(h, side); err != nil {
			return s, fmt.Errorf("%s: %w", row.Film, err)
		}
		s.films = append(s.films, f)
	}
	return s, nil
}

// truth returns nil for a film that shows no replaced hip.
func (r filmRow) truth(h hipFile, side measure.Side) (*truth, error) {
	if h.Kind == "blank" || r.Head == nil {
		return nil, nil
	}
	cup := r.CupArc
	if cup == nil {
		cup = r.Cup
	}
	kind := measure.CupKind(r.CupKind)
	if kind == "" {
		kind = measure.CupKind(h.Cup)
	}
	switch {
	case side == measure.SideUnknown:
		return nil, errors.New("side is not told")
	case len(r.Head) != 3 || len(cup) != 3 || len(r.Offset) != 2:
		return nil, errors.New("head and cup must have three numbers, offset two")
	case !(r.MM > 0) || !(h.HeadMM > 0):
		return nil, errors.New("head_mm and mm_per_px must be positive")
	case kind != measure.Shell && kind != measure.Wire:
		return nil, fmt.Errorf("cup kind %q is neither shell nor wire", kind)
	}
	t := &truth{side: side, kind: kind, mm: r.MM,
		head: measure.Circle{X: r.Head[0], Y: r.Head[1], R: r.Head[2]},
		cup:  measure.Circle{X: cup[0], Y: cup[1], R: cup[2]},
	}
	// The offset is told with the film's roll taken out and laterally; readings
	// without a reference line are along rows and columns.
	sin, cos := math.Sincos(r.Roll * math.Pi / 180)
	medial := side.Medial()
	x, y := -medial*r.Offset[0], -r.Offset[1]
	t.offset.Superior = -(sin*x + cos*y)
	t.offset.Medial = medial * (cos*x - sin*y)
	return t, nil
}

// loadFile opens a film as the program shows it: upright, with square pixels.
func loadFile(path string) (p picture, err error) {
	start := time.Now()
	f, err := dicomio.Open(path)
	if err != nil {
		return p, err
	}
	if f, err = f.Upright().Square(); err != nil {
		return p, err
	}
	return picture{f.Pixels, f.Geometry.Detector(), time.Since(start)}, nil
}

// notFactors are the fields of a truth.json that say where things are, or when.
var notFactors = []string{"film", "films", "date", "surgery", "x", "y", "mm_per_px", "years", "factors", "kind"}

// factorsOf returns every text and number that a truth.json states of a film, and
// the entries of "factors".
func factorsOf(h hipFile, r filmRow) (out []factor) {
	stated := map[string]any{}
	for _, from := range []map[string]any{h.All, r.All, inner(h.All), inner(r.All)} {
		for name, v := range from {
			if _, list := v.([]any); !list && !slices.Contains(notFactors, name) {
				stated[name] = v
			}
		}
	}
	delete(stated, "cup_kind") // is "cup"
	for name, v := range stated {
		switch v := v.(type) {
		case string:
			out = append(out, factor{name: name, level: v})
		case bool:
			out = append(out, factor{name: name, level: fmt.Sprint(v)})
		case float64:
			out = append(out, factor{name: name, value: v})
		}
	}
	slices.SortFunc(out, func(a, b factor) int { return strings.Compare(a.name, b.name) })
	return out
}

func inner(all map[string]any) map[string]any {
	m, _ := all["factors"].(map[string]any)
	return m
}
