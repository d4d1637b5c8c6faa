package measure

import (
	"fmt"
	"math"
)

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
	v.Cov[0][0] += s * s * v.Medial * v.Medial
	v.Cov[1][1] += s * s * v.Superior * v.Superior
	v.Cov[0][1] -= s * s * v.Superior * v.Medial
	v.Cov[1][0] -= s * s * v.Superior * v.Medial
	return v
}

// LinePair is one line of the pelvis on two films.
type LinePair struct{ Baseline, Later ReferenceLine }

// FilmRotation is how far a later film is turned in its plane against the
// baseline.
type FilmRotation struct {
	Degrees, SE float64 // clockwise on the screen positive
	// Spread is the largest distance of one pair's rotation from the mean over
	// its own standard error; beyond 3 the pairs tell different stories, so that
	// the pelvis has been turned out of the plane or a line is misplaced. It is 0
	// with one pair.
	Spread float64
}

// Rotation returns the in-plane rotation between two films from matched
// reference lines: the mean of the differences weighted by 1/SE². Differences
// are taken the shorter way round. It is a proposal for the reader. Every pair
// needs a standard error above zero where there are several; the errors are
// ErrTooFewPairs and *RangeError.
func Rotation(pairs ...LinePair) (FilmRotation, error) {
	if len(pairs) == 0 {
		return FilmRotation{}, ErrTooFewPairs
	}
	turns, ses := make([]float64, len(pairs)), make([]float64, len(pairs))
	var sum, total float64
	for i, p := range pairs {
		if !Finite(p.Baseline.Alpha, p.Baseline.SE, p.Later.Alpha, p.Later.SE) {
			return FilmRotation{}, ErrNotFinite
		}
		turns[i] = math.Remainder(p.Later.Alpha-p.Baseline.Alpha, 180)
		ses[i] = math.Hypot(p.Baseline.SE, p.Later.SE)
		if len(pairs) == 1 {
			return FilmRotation{Degrees: turns[0], SE: ses[0]}, nil
		}
		if err := Positive("standard error of a line", ses[i], "deg"); err != nil {
			return FilmRotation{}, err
		}
		sum += turns[i] / (ses[i] * ses[i])
		total += 1 / (ses[i] * ses[i])
	}
	r := FilmRotation{Degrees: sum / total, SE: math.Sqrt(1 / total)}
	for i := range turns {
		r.Spread = max(r.Spread, math.Abs(turns[i]-r.Degrees)/ses[i])
	}
	return r, nil
}

// ProjectionChange is how the cup's apparent orientation changed between films.
type ProjectionChange struct {
	Inclination, SEInclination float64 // later minus baseline, degrees
	Version, SEVersion         float64
	// Tilt is the backward tilt of the pelvis about its transverse axis that
	// would change the version so, degrees, where the cup is anteverted and sits
	// fast; a retroverted cup has the opposite tilt.
	Tilt     float64
	Warnings []string // plain sentences, empty where nothing exceeds its limit
}

// CompareRims returns the change of a rim's reading against the baseline, with a
// warning for each limit exceeded.
func CompareRims(baseline, later RimReading) ProjectionChange {
	c := ProjectionChange{
		Inclination:   math.Remainder(later.Inclination-baseline.Inclination, 180),
		SEInclination: math.Hypot(later.SEInclination, baseline.SEInclination),
		Version:       later.Anteversion - baseline.Anteversion,
		SEVersion:     math.Hypot(later.SEAnteversion, baseline.SEAnteversion),
		Tilt:          later.Operative().Anteversion - baseline.Operative().Anteversion,
	}
	if math.Abs(c.Inclination) > InclinationWarning {
		c.Warnings = append(c.Warnings, fmt.Sprintf("the cup's inclination differs by %+.1f degrees from the baseline film", c.Inclination))
	}
	if math.Abs(c.Version) > VersionWarning {
		c.Warnings = append(c.Warnings, fmt.Sprintf("the cup's version differs by %+.1f degrees from the baseline film", c.Version))
	}
	return c
}
