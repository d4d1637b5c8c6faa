package wearfit

import "math"

// Shape says what a set of times looks like.
type Shape int

// The shapes of a region of times at which a line may reach a level.
const (
	ShapeInterval  Shape = iota // from Lo to Hi
	ShapeTwoRays                // up to Lo, and from Hi on
	ShapeWholeLine              // any time, or never
)

func (s Shape) String() string {
	switch s {
	case ShapeInterval:
		return "interval"
	case ShapeTwoRays:
		return "two rays"
	}
	return "whole line"
}

// Reaching is the time at which a line reaches a level.
type Reaching struct {
	Level float64
	At    float64 // ±Inf for a level line
	SE    float64 // by the delta method; +Inf where it cannot be told
	Shape Shape
	// Lo and Hi bound the times that the data do not exclude: see Shape. A
	// whole line has Lo -Inf and Hi +Inf.
	Lo, Hi float64
	// Beyond says that the level lies after the last film: extrapolated.
	Beyond bool
}

// Told says whether the data tell the time: its region is an interval.
func (r Reaching) Told() bool { return r.Shape == ShapeInterval }

// Times returns the part of the region at or after time from, in order: none,
// one or two intervals, the last without an end where the level may never be
// reached.
func (r Reaching) Times(from float64) []Interval {
	var parts []Interval
	switch r.Shape {
	case ShapeInterval:
		parts = []Interval{{r.Lo, r.Hi}}
	case ShapeTwoRays:
		parts = []Interval{{math.Inf(-1), r.Lo}, {r.Hi, math.Inf(1)}}
	default:
		parts = []Interval{Unbounded()}
	}
	var out []Interval
	for _, p := range parts {
		if p.Hi >= from {
			out = append(out, Interval{max(p.Lo, from), p.Hi})
		}
	}
	return out
}

// TimeTo returns the time at which the line has risen by level from a baseline film whose
// variance is extra times sigma²; 0 where level is counted from a value without error.
// The region is Fieller's (Fieller EC. J R Stat Soc B 1954;16:175-185): the times at
// which level lies within the interval of the rise. For a straight line it is the
// profile-likelihood region as well. Where the slope may be zero it is two rays or the
// whole line.
func (l Line) TimeTo(level, extra, confidence float64) Reaching {
	r := Reaching{Level: level, SE: math.Inf(1), Shape: ShapeWholeLine, Lo: math.Inf(-1), Hi: math.Inf(1)}
	gap := level - l.Intercept - l.Slope*l.center // of the level above the line at its centre
	switch {
	case l.Slope != 0:
		r.At = l.center + gap/l.Slope
	case gap == 0:
		r.At = l.center
	default:
		r.At = math.Copysign(math.Inf(1), gap)
	}
	r.Beyond = r.At > l.last
	q := l.Quantile(confidence)
	if math.IsInf(q, 1) || math.IsInf(l.Sigma, 1) {
		return r
	}
	if l.Slope != 0 {
		d := r.At - l.center
		r.SE = l.Sigma / math.Abs(l.Slope) * math.Sqrt(extra+l.level+d*d/l.spread)
	}
	// (Slope u - gap)² <= q² sigma² (extra + level + u²/spread), u from the centre.
	s2 := q * q * l.Sigma * l.Sigma
	a, b, c := l.Slope*l.Slope-s2/l.spread, -l.Slope*gap, gap*gap-s2*(extra+l.level)
	disc := b*b - a*c
	if a == 0 || disc < 0 {
		return r // disc is negative only where the line opens downwards
	}
	k := -(b + math.Copysign(math.Sqrt(disc), b))
	u, v := k/a, 0.0
	if k != 0 {
		v = c / k
	}
	r.Lo, r.Hi = l.center+min(u, v), l.center+max(u, v)
	r.Shape = ShapeInterval
	if a < 0 {
		r.Shape = ShapeTwoRays
	}
	return r
}

// MeanInterval returns the interval of the line at t.
func (l Line) MeanInterval(t, confidence float64) Interval {
	y, se := l.Mean(t)
	lo, hi := l.around(y, se, confidence)
	return Interval{lo, hi}
}
