package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"linerwatch/measure"
)

// Group is what some films gave. Lengths are mm.
type Group struct {
	Name      string     `json:"name"`
	Films     int        `json:"films"`
	Refused   int        `json:"refused"` // without Hidden
	Hidden    int        `json:"refused_hardly_showing"`
	Wrong     int        `json:"wrong"` // with OtherKind
	OtherKind int        `json:"other_kind"`
	OtherSide int        `json:"other_side"`
	Missed    int        `json:"missed"`
	Silent    int        `json:"silent"`
	Follow    int        `json:"penetrations"`
	Superior  Errors     `json:"penetration_superior"`
	Medial    Errors     `json:"penetration_medial"`
	Magnitude Errors     `json:"penetration_magnitude"`
	Median    float64    `json:"penetration_median_off"` // of the length of the error
	OffsetUp  Errors     `json:"offset_superior"`
	OffsetIn  Errors     `json:"offset_medial"`
	Scale     Errors     `json:"scale_share"`
	Inclined  Errors     `json:"rim_inclination_deg"`
	Version   Errors     `json:"rim_version_deg"`
	Coverage  []Coverage `json:"coverage"`
	Detect    Times      `json:"detect_ms"`
	Load      Times      `json:"load_ms"`
}

// Errors sums up errors.
type Errors struct {
	N       int     `json:"n"`
	Bias    float64 `json:"bias"`
	SD      float64 `json:"sd"`
	RMSE    float64 `json:"rmse"`
	Largest float64 `json:"largest"`
}

// Times sums up what films took, ms.
type Times struct {
	Median float64 `json:"median"`
	Max    float64 `json:"max"`
}

// The intervals whose coverage is reported.
const (
	ofHead, ofRadius, ofCup, ofOffset, ofPenetration = "head centre", "head radius", "cup centre", "offset", "penetration"
)

// gather sums up verdicts, those of a hip one after the other. follow are the
// penetrations of these films.
func gather(name string, all []verdict, follow []penetration) Group {
	g := Group{Name: name, Films: len(all)}
	var up, in, scale, inclined, version []float64
	held := map[string]*inside{}
	hold := func(of string, hip int, err, se float64) {
		if held[of] == nil {
			held[of] = &inside{}
		}
		held[of].add(hip, err, se)
	}
	for _, v := range all {
		g.count(v)
		if !v.measured {
			continue
		}
		t, f := v.film.truth, v.found
		up, in = append(up, v.superior), append(in, v.medial)
		scale = append(scale, f.scale/t.mm-1)
		if i, a, ok := rimOff(f, *t); ok {
			inclined, version = append(inclined, i), append(version, a)
		}
		hold(ofHead, v.hip, f.head.X-t.head.X, f.head.se[0])
		hold(ofHead, v.hip, f.head.Y-t.head.Y, f.head.se[1])
		hold(ofRadius, v.hip, f.head.R-t.head.R, f.head.se[2])
		hold(ofCup, v.hip, f.cup.X-t.cup.X, f.cup.se[0])
		hold(ofCup, v.hip, f.cup.Y-t.cup.Y, f.cup.se[1])
		seUp, seIn := f.offset.SE()
		hold(ofOffset, v.hip, v.superior, seUp)
		hold(ofOffset, v.hip, v.medial, seIn)
	}
	g.OffsetUp, g.OffsetIn, g.Scale = errorsOf(up), errorsOf(in), errorsOf(scale)
	g.Inclined, g.Version = errorsOf(inclined), errorsOf(version)
	g.penetrate(follow, hold)
	for _, of := range []string{ofHead, ofRadius, ofCup, ofOffset, ofPenetration} {
		if c := held[of]; c != nil {
			g.Coverage = append(g.Coverage, c.share(of))
		}
	}
	g.Detect = timesOf(all, func(v verdict) time.Duration { return v.spent })
	g.Load = timesOf(all, func(v verdict) time.Duration { return v.loaded })
	return g
}

// count adds a verdict to the counts.
func (g *Group) count(v verdict) {
	for _, c := range []struct {
		is bool
		n  *int
	}{
		{!v.measured && !v.hidden, &g.Refused}, {!v.measured && v.hidden, &g.Hidden}, {v.wrong, &g.Wrong}, {v.otherKind, &g.OtherKind},
		{v.otherSide, &g.OtherSide}, {v.missed, &g.Missed}, {v.silent, &g.Silent},
	} {
		if c.is {
			*c.n++
		}
	}
}

// penetrate fills in what the penetrations gave.
func (g *Group) penetrate(follow []penetration, hold func(of string, hip int, err, se float64)) {
	var up, in, magnitude, off []float64
	for _, p := range follow {
		u, i := p.got.Superior-p.want.Superior, p.got.Medial-p.want.Medial
		up, in, off = append(up, u), append(in, i), append(off, math.Hypot(u, i))
		magnitude = append(magnitude, math.Hypot(p.got.Superior, p.got.Medial)-math.Hypot(p.want.Superior, p.want.Medial))
		seUp, seIn := p.got.SE()
		hold(ofPenetration, p.hip, u, seUp)
		hold(ofPenetration, p.hip, i, seIn)
	}
	g.Follow = len(follow)
	g.Superior, g.Medial, g.Magnitude, g.Median = errorsOf(up), errorsOf(in), errorsOf(magnitude), median(off)
}

// penetration is that of one film against the earliest film of the hip that was
// measured.
type penetration struct {
	hip       int
	film      *film
	got, want measure.Vector
}

// penetrations returns those of all measured films but each hip's first.
func penetrations(all []verdict) (out []penetration) {
	first := map[int]verdict{}
	for _, v := range all {
		if !v.measured {
			continue
		}
		base, ok := first[v.hip]
		if !ok {
			first[v.hip] = v
			continue
		}
		out = append(out, penetration{v.hip, v.film,
			v.found.offset.Sub(base.found.offset), v.film.truth.offset.Sub(base.film.truth.offset)})
	}
	return out
}

// rimOff compares the orientation that the found rim or ring tells with that of
// the ellipse which the rim truly casts, both on the film, degrees.
func rimOff(f outlined, t truth) (inclination, version float64, ok bool) {
	got, err := measure.ReadRim(f.rim, t.side, 0)
	want, err2 := measure.ReadRim(measure.EllipseFit{Ellipse: t.rim}, t.side, 0)
	if err != nil || err2 != nil {
		return 0, 0, false
	}
	return math.Mod(got.Inclination-want.Inclination+270, 180) - 90, got.Anteversion - want.Anteversion, true
}

// String is the root of the mean square, or a dash where there is nothing.
func (e Errors) String() string {
	if e.N == 0 {
		return "-"
	}
	return fmt.Sprintf("%.3f", e.RMSE)
}

func errorsOf(e []float64) Errors {
	s := Errors{N: len(e)}
	if s.N == 0 {
		return s
	}
	n := float64(s.N)
	var squares float64
	for _, v := range e {
		s.Bias += v / n
		squares += v * v / n
		s.Largest = max(s.Largest, math.Abs(v))
	}
	s.RMSE = math.Sqrt(squares)
	s.SD = math.Sqrt(max(0, squares-s.Bias*s.Bias) * n / max(1, n-1))
	return s
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Sorted(slices.Values(v))
	return (v[len(v)/2] + v[(len(v)-1)/2]) / 2
}

func timesOf(all []verdict, of func(verdict) time.Duration) (t Times) {
	var ms []float64
	for _, v := range all {
		ms = append(ms, of(v).Seconds()*1000)
	}
	if len(ms) > 0 {
		t.Median, t.Max = median(ms), slices.Max(ms)
	}
	return t
}
