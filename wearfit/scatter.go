package wearfit

import (
	"math"
	"slices"
)

// Scatter is how far the films of one hip scatter beyond the errors of their own
// readings, as by how the pelvis lay.
type Scatter struct {
	Known bool    // the readings' errors are known, else every film weighs 1
	Extra float64 // variance beyond them; 0 where they explain the scatter
}

// Weight returns the weight of a reading of standard error se: 1/(se² + Extra), and 1
// where errors are not known.
func (s Scatter) Weight(se float64) float64 {
	if !s.Known {
		return 1
	}
	return 1 / (se*se + s.Extra)
}

// Weights returns those of several readings; nil where errors are not known.
func (s Scatter) Weights(se []float64) []float64 {
	if !s.Known {
		return nil
	}
	w := make([]float64, len(se))
	for i, v := range se {
		w[i] = s.Weight(v)
	}
	return w
}

// Balance finds the scatter of readings whose standard errors se are known: the extra
// variance at which the weighted sum of squares of a fit, rss, is its degrees of freedom
// df (Paule RC, Mandel J. J Res Natl Bur Stand 1982;87:377-385). With it the fit's own
// sigma is 1, less where the errors alone say more than the films scatter, and Student's
// intervals hold for unequal errors too (Knapp G, Hartung J. Stat Med 2003;22:2693-2710).
// Equal errors weigh films alike, so that the fit is that of least squares. Without
// errors, se nil, or without degrees of freedom nothing is known.
func Balance(se []float64, df int, rss func(w []float64) (float64, error)) (Scatter, error) {
	if se == nil {
		return Scatter{}, nil
	}
	s := Scatter{Known: true}
	if df < 1 {
		return s, nil
	}
	excess := func(extra float64) (float64, error) {
		s.Extra = extra
		v, err := rss(s.Weights(se))
		return v - float64(df), err
	}
	low, err := excess(0)
	if err != nil || low <= 0 {
		s.Extra = 0
		return s, err
	}
	v, err := rss(nil)
	if err != nil {
		return s, err
	}
	// No sum of squares is above the plain one over the extra variance.
	top := v / float64(df)
	high, err := excess(top)
	if err != nil {
		return s, err
	}
	if slices.Min(se) == slices.Max(se) {
		s.Extra = top - se[0]*se[0]
		return s, nil
	}
	s.Extra, err = falsePosition(excess, 0, top, low, high)
	return s, err
}

// falsePosition finds a zero of a falling function between a and b, whose values there
// are fa above and fb not above zero, by the Illinois rule (Dowell M, Jarratt P. BIT
// 1971;11:168-174).
func falsePosition(f func(float64) (float64, error), a, b, fa, fb float64) (float64, error) {
	side := 0
	for range 100 {
		if fb == 0 || b-a <= 1e-12*b {
			return b, nil
		}
		m := b - fb*(b-a)/(fb-fa)
		v, err := f(m)
		switch {
		case err != nil:
			return m, err
		case math.Abs(v) < 1e-12:
			return m, nil
		case v > 0:
			a, fa = m, v
			if side == 1 {
				fb /= 2
			}
			side = 1
		default:
			b, fb = m, v
			if side == -1 {
				fa /= 2
			}
			side = -1
		}
	}
	return b, nil
}

// FitReadings fits the line to readings of known standard errors se, nil where they are
// not known, by FitLine with the weights of Balance.
func FitReadings(t, y, se []float64) (Line, Scatter, error) {
	if se != nil {
		if err := check(t, y, se, 2); err != nil {
			return Line{}, Scatter{}, err
		}
	}
	s, err := Balance(se, len(t)-2, func(w []float64) (float64, error) {
		l, err := FitLine(t, y, w)
		return l.Sigma * l.Sigma * float64(l.DF), err
	})
	if err != nil {
		return Line{}, s, err
	}
	l, err := FitLine(t, y, s.Weights(se))
	return l, s, err
}
