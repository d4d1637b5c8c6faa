package study

import (
	"math"
	"sync"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// Outlines returns what the thickness of the liner is read from: the outlines as
// Reading is of them, corrected for the cone beam or not.
func (m Measurement) Outlines() measure.Outlines {
	o := measure.Outlines{Head: m.Head.CircleFit, Cup: m.Cup.CircleFit, HeadMM: m.HeadMM, Side: m.Side}
	if m.How.Line {
		o.Alpha = m.Line.Alpha
	}
	if m.How.Beam {
		o.Head.Circle, o.Cup.Circle = m.Corrected.Head, m.Corrected.Cup
	} else if cup, err := m.usualCup(measure.Hip{Side: m.Side, Head: m.Head, Cup: m.Cup}, o.Alpha); err == nil {
		o.Cup = cup
	}
	return o
}

// Gap returns the gap between the outlines of a measured film.
func (m Measurement) Gap() (measure.Gap, error) {
	if m.Status != Measured || !(m.Head.R > 0) {
		return measure.Gap{}, ErrNoOutlines
	}
	return m.Outlines().Gap()
}

// ErrNoRim is the error of a cup whose orientation cannot be told.
var ErrNoRim = NewError("rim.none", nil)

// NoRim returns why the cup's orientation is not told: what kept the program from
// finding the rim, or ErrNoRim.
func (m Measurement) NoRim() error {
	switch {
	case m.Rim.Proposed():
		return NewError("rim.left", nil)
	case !m.Rim.Why.IsZero() && !m.Rim.Drawn():
		return &NoteError{Note: m.Rim.Why}
	}
	return ErrNoRim
}

// Change is what a film says against the baseline film, besides the penetration.
// A quantity that cannot be had has its error.
type Change struct {
	Film        Film
	Penetration Penetration

	Shortest    measure.Shortest // by the shortest-distance technique
	ShortestErr error
	Duo         measure.Length // change of the narrowest path, the duoradiograph value
	DuoErr      error

	ToAxis, SEToAxis float64 // of the movement to the cup's axis, degrees; 0 is straight into the dome
	AxisErr          error
	Volume           measure.Volume // worn, of a hemispherical liner
	VersionAssumed   bool           // no film tells the version: AssumedVersion was taken
	VolumeErr        error

	Projection    measure.ProjectionChange // of the cup against the baseline film
	HasProjection bool
	HasVersion    bool // both films tell the version
}

// The version taken for the volume where a film shows the rim as a line, degrees,
// with its standard error; common practice, no source.
const (
	AssumedVersion   = 15.0
	AssumedVersionSE = 10.0
)

// VolumeAssumes says what the wear volume takes for granted.
func (c Change) VolumeAssumes() string {
	v := Values{"Version": 0., "SE": AssumedVersionSE}
	if c.VersionAssumed {
		v["Version"] = AssumedVersion
	}
	return texts.Say("volume.assumes", v)
}

// Changes returns a Change for each measured film but the baseline, in date order.
func (t Trend) Changes() []Change {
	base := t.baseline()
	if base == nil {
		return nil
	}
	var out []Change
	t.later(func(p Penetration, m *Measurement) { out = append(out, changeOf(p, *base, *m)) })
	return out
}

// later hands each measured film but the baseline over, in date order.
func (t *Trend) later(each func(p Penetration, m *Measurement)) {
	for _, p := range t.Penetration {
		if p.Film.ID == t.Baseline.ID {
			continue
		}
		for i := range t.Films {
			if m := &t.Films[i]; m.Film.ID == p.Film.ID && m.Status == Measured {
				each(p, m)
			}
		}
	}
}

func (t *Trend) baseline() *Measurement {
	for i := range t.Films {
		if t.Films[i].Film.ID == t.Baseline.ID && t.Films[i].Status == Measured {
			return &t.Films[i]
		}
	}
	return nil
}

func changeOf(p Penetration, base, m Measurement) Change {
	c := Change{Film: m.Film, Penetration: p}
	line := m.How.Line && base.How.Line // as both are read
	m, base = m.as(line), base.as(line)
	if !(base.Head.R > 0) || !(m.Head.R > 0) {
		c.ShortestErr, c.DuoErr = ErrNoOutlines, ErrNoOutlines
	} else {
		c.Shortest, c.ShortestErr = measure.ShortestDistance(base.Outlines(), m.Outlines())
		c.Duo, c.DuoErr = measure.Duoradiograph(base.Outlines(), m.Outlines())
	}
	now, ok := m.Orientation()
	then, okThen := base.Orientation()
	if ok && okThen {
		c.HasProjection, c.HasVersion = true, now.Version && then.Version
		c.Projection = measure.CompareRims(then.RimReading, now.RimReading)
	}
	if !ok {
		if now, ok = then, okThen; !ok { // the cup sits fast: another film of it tells
			c.AxisErr, c.VolumeErr = m.NoRim(), m.NoRim()
			return c
		}
	}
	rim := now.RimReading
	if !now.Version {
		c.VersionAssumed = true
		rim.Anteversion, rim.SEAnteversion = AssumedVersion, AssumedVersionSE
	}
	var angle float64
	angle, c.SEToAxis, c.AxisErr = rim.RimAngle(p.Vector)
	c.ToAxis = 90 - angle
	c.Volume, c.VolumeErr = rim.Volume(p.Vector, m.HeadMM)
	if c.AxisErr == nil && angle < 0 {
		c.VolumeErr = NewError("volume.away", nil)
	}
	return c
}

// warnProjection names each film on which the cup looks turned against the
// baseline film.
func (t *Trend) warnProjection() {
	base := t.baseline()
	if base == nil {
		return
	}
	thens := map[bool]func() (Orientation, bool){}
	for _, line := range []bool{false, true} {
		thens[line] = sync.OnceValues(func() (Orientation, bool) { return base.as(line).Orientation() })
	}
	t.later(func(_ Penetration, m *Measurement) {
		line := m.How.Line && base.How.Line // as both are read
		now, ok := m.as(line).Orientation()
		then, okThen := thens[line]()
		if !ok || !okThen {
			return
		}
		p := measure.CompareRims(then.RimReading, now.RimReading)
		if math.Abs(p.Inclination) > measure.InclinationWarning {
			t.turned(m.Film, measure.TurnInclination, p.Inclination, measure.InclinationWarning)
		}
		if now.Version && then.Version && math.Abs(p.Version) > measure.VersionWarning {
			t.turned(m.Film, measure.TurnVersion, p.Version, measure.VersionWarning)
		}
	})
}

// as is the measurement with its reference line or without.
func (m Measurement) as(line bool) Measurement {
	if !line {
		m.Line = Line{}
	}
	return m
}

func (t *Trend) turned(f Film, what string, degrees, limit float64) {
	t.warn("trend.turned", texts.Values{"Film": f.Name(), "What": what, "Degrees": degrees, "Limit": limit})
}
