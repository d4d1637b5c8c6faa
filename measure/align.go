package measure

import "math"

// What a change between two films of one hip must exceed to be pointed out. A
// cup that sits fast and looks turned has been projected otherwise, which
// mimics or hides wear.
const (
	// InclinationWarning, degrees: common practice, no source.
	InclinationWarning = 3.0
	// VersionWarning, degrees: 2.77 times the repeatability standard deviation
	// of 0.99 on standardised films (Liaw et al., Comput Math Methods Med
	// 2008;9:105-119), the limit that two readings of one cup pass once in
	// twenty.
	VersionWarning = 2.8
)

// ReferenceLine is a line of the pelvis on one film, such as that through the
// teardrops.
type ReferenceLine struct {
	Alpha, SE float64 // angle to the image rows, degrees, from +x towards +y; in (-90, 90]
	Length    float64 // between its two points, px
}

// Line returns the reference line through two points. sd is how well each is
// placed across the line, px, as a standard deviation; the angle then has the
// standard error sqrt(2) sd over the points' distance. The errors are
// ErrNotFinite, ErrCoincident and *RangeError.
func Line(p, q Point, sd float64) (ReferenceLine, error) {
	if !Finite(p.X, p.Y, q.X, q.Y) {
		return ReferenceLine{}, ErrNotFinite
	}
	if !(sd >= 0) || !Finite(sd) {
		return ReferenceLine{}, &RangeError{"standard deviation", sd, "px", "must not be negative"}
	}
	if q.X < p.X || q.X == p.X && q.Y < p.Y {
		p, q = q, p
	}
	length := math.Hypot(q.X-p.X, q.Y-p.Y)
	if length == 0 {
		return ReferenceLine{}, ErrCoincident
	}
	return ReferenceLine{
		Alpha:  atan2(q.Y-p.Y, q.X-p.X),
		SE:     math.Sqrt2 * sd / length * 180 / math.Pi,
		Length: length,
	}, nil
}

// Turn adds the standard error of the reference line to a vector read with it:
// a turn by d radians moves superior by -d times medial and medial by d times
// superior (the sign is that of a right hip; the variance has none). Vectors of
// two films with lines of their own are turned independently.
func (l ReferenceLine) Turn(v Vector) Vector {
	s := l.SE * math.Pi / 180
	AddSquares(v.Cov[:], s*s, [2]float64{-v.Medial, v.Superior})
	return v
}

// FilmRotation is how far a later film is turned in its plane against the
// baseline.
type FilmRotation struct {
	Degrees, SE float64 // clockwise on the screen positive
}

// ProjectionChange is how the cup's apparent orientation changed between films.
type ProjectionChange struct {
	Inclination, SEInclination float64 // later minus baseline, degrees
	Version, SEVersion         float64
	Warnings                   []Warning // empty where nothing exceeds its limit
}

// CompareRims returns the change of a rim's reading against the baseline, with a
// warning for each limit exceeded.
func CompareRims(baseline, later RimReading) ProjectionChange {
	c := ProjectionChange{
		Inclination:   math.Remainder(later.Inclination-baseline.Inclination, 180),
		SEInclination: math.Hypot(later.SEInclination, baseline.SEInclination),
		Version:       later.Anteversion - baseline.Anteversion,
		SEVersion:     math.Hypot(later.SEAnteversion, baseline.SEAnteversion),
	}
	if math.Abs(c.Inclination) > InclinationWarning {
		c.Warnings = append(c.Warnings, Warning{Code: CupTurned, Case: TurnInclination, Values: map[string]any{"Degrees": c.Inclination}})
	}
	if math.Abs(c.Version) > VersionWarning {
		c.Warnings = append(c.Warnings, Warning{Code: CupTurned, Case: TurnVersion, Values: map[string]any{"Degrees": c.Version}})
	}
	return c
}
