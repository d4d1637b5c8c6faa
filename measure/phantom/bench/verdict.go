package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"linerwatch/measure"
)

// A film is wrong where a centre is further off than headOff or cupOff, or where
// the cup is called another kind; a silent error is an offset off by more than
// silentOff without a warning about the outlines. All in mm.
const (
	headOff   = 1.0
	cupOff    = 1.5
	silentOff = 0.2
)

// verdict is what measuring one film gave.
type verdict struct {
	film *film
	hip  int // number of the series

	measured  bool
	refusal   string
	wrong     bool // with otherKind
	otherKind bool
	otherSide bool
	silent    bool

	headShows, cupShows float64 // shares of the true outlines that show
	hidden              bool    // too little of one for anybody to draw it

	missed bool // another replaced hip of a whole film that was to be found too

	found      outlined
	head, cup  float64 // centres off by, mm
	superior   float64 // offset less the truth, mm
	medial     float64
	spent      time.Duration
	loaded     time.Duration
	falseAlarm bool // a hip on a film without one
}

// off returns how far the offset is off, mm.
func (v verdict) off() float64 { return math.Hypot(v.superior, v.medial) }

// judgeFilm loads and measures a film.
func judgeFilm(f *film, look string) (verdict, error) {
	v := verdict{film: f}
	p, err := f.load()
	if err != nil {
		return v, err
	}
	v.loaded = p.loaded
	if look != "" {
		if err := writeLook(look, f, p.img); err != nil {
			return v, err
		}
	}
	s := f.search
	s.spacing = p.spacing
	hips, refused, spent, err := measured(p.img, s)
	if err != nil {
		return v, err
	}
	v.spent, v.refusal = spent, refused
	if f.truth == nil {
		v.falseAlarm = refused == ""
		return v, nil
	}
	v.headShows, v.cupShows = showing(p.img, *f.truth)
	f.factors = append(f.factors, factor{name: "head_shows", value: v.headShows}, factor{name: "cup_shows", value: v.cupShows})
	v.hidden = min(v.headShows, v.cupShows) < hidden
	if refused != "" {
		return v, nil
	}
	v.compare(*f.truth, hips)
	return v, nil
}

// compare judges the hips found against the truth.
func (v *verdict) compare(t truth, hips []outlined) {
	n := nearest(hips, t.head)
	v.missed = len(hips) < t.count
	for _, other := range t.others {
		if away(n.head.Circle, other) < away(n.head.Circle, t.head) {
			v.refusal, v.missed = "only another hip was outlined", true
			return
		}
	}
	v.measured, v.found = true, n
	v.head, v.cup = t.mm*away(n.head.Circle, t.head), t.mm*away(n.cup.Circle, t.cup)
	v.superior, v.medial = n.offset.Superior-t.offset.Superior, n.offset.Medial-t.offset.Medial
	v.otherKind, v.otherSide = n.kind != t.kind, n.side != t.side
	v.wrong = v.head > headOff || v.cup > cupOff || v.otherKind || t.count > 0 && t.invents(hips)
	v.silent = v.off() > silentOff && !slices.ContainsFunc(n.warned, aboutOutlines)
}

// invents reports whether a hip lies where no replaced one is.
func (t truth) invents(hips []outlined) bool {
	return slices.ContainsFunc(hips, func(h outlined) bool {
		near := func(c measure.Circle) bool { return away(h.head.Circle, c) < c.R }
		return !near(t.head) && !slices.ContainsFunc(t.others, near)
	})
}

// nearest returns the hip whose head is nearest to a circle's centre.
func nearest(hips []outlined, c measure.Circle) outlined {
	best := hips[0]
	for _, h := range hips[1:] {
		if away(h.head.Circle, c) < away(best.head.Circle, c) {
			best = h
		}
	}
	return best
}

// away returns the distance of two circles' centres, px.
func away(a, b measure.Circle) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// badness orders verdicts, the worst last: refused and wrong films come after
// all others, which go by how far the offset is off.
func (v verdict) badness() float64 {
	switch {
	case v.film.truth == nil:
		return 0
	case !v.measured && v.hidden:
		return 0
	case !v.measured:
		return 1e3
	case v.wrong:
		return 1e4 + v.off()
	}
	return v.off()
}

// String is the line of a film.
func (v verdict) String() string {
	name := fmt.Sprintf("%s %s %s", v.film.set, v.film.hip, v.film.name)
	ms := fmt.Sprintf("%.0f ms", v.spent.Seconds()*1000)
	t := v.film.truth
	switch {
	case t == nil && v.falseAlarm:
		return name + " FALSE ALARM on a film without a replaced hip, " + ms
	case t == nil:
		return name + " nothing found, as it should be, " + ms
	case !v.measured && v.hidden:
		return fmt.Sprintf("%s hidden: %s, %.0f %% of the head and %.0f %% of the cup show, %s", name, v.refusal, 100*v.headShows, 100*v.cupShows, ms)
	case !v.measured:
		return name + " refused: " + v.refusal + ", " + ms
	}
	f := v.found
	line := fmt.Sprintf("%s %s head off by %.2f %.2f r %.2f px, cup by %.2f %.2f r %.2f px, offset by %.3f mm, %s", name, f.kind,
		f.head.X-t.head.X, f.head.Y-t.head.Y, f.head.R-t.head.R, f.cup.X-t.cup.X, f.cup.Y-t.cup.Y, f.cup.R-t.cup.R, v.off(), ms)
	for _, flag := range []struct {
		is   bool
		word string
	}{{v.wrong, "WRONG"}, {v.otherKind, "OTHER KIND"}, {v.otherSide, "OTHER SIDE"}, {v.silent, "SILENT"}, {v.missed, "MISSED A HIP"}} {
		if flag.is {
			line += ", " + flag.word
		}
	}
	if len(f.warned) > 0 {
		line += ", warned of " + strings.Join(f.warned, ", ")
	}
	return line
}
