package wearfit

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// crossedSet reads a set of crossed_incomplete.csv.
func crossedSet(t *testing.T, set string) [][][]float64 {
	t.Helper()
	d := columns(t, "crossed_incomplete.csv", func(r map[string]string) bool { return r["set"] == set }, "target", "reader", "value")
	return crossedTable(d[0], d[1], d[2])
}

// crossedTable is a table of readings from its columns; targets and readers are
// numbered from 1.
func crossedTable(target, reader, value []float64) (x [][][]float64) {
	for i, v := range value {
		j, k := int(target[i])-1, int(reader[i])-1
		for len(x) <= j {
			x = append(x, nil)
		}
		for len(x[j]) <= k {
			x[j] = append(x[j], nil)
		}
		x[j][k] = append(x[j][k], v)
	}
	return x
}

// long is a complete table as columns.
func long(x [][]float64) (target, reader, value []float64) {
	for i, row := range x {
		for j, v := range row {
			target, reader, value = append(target, float64(i+1)), append(reader, float64(j+1)), append(value, v)
		}
	}
	return target, reader, value
}

// Simulated tables with cells that are empty, single and repeated, some with a
// component at 0. R 4.2.2, lme4 1.1-31: lmer(value ~ 1 + (1 | target) + (1 | reader) +
// (1 | target:reader)), bobyqa to 1e-12 from five starts; without the last term
// where nothing is repeated.
func TestCrossedIncomplete(t *testing.T) {
	var ref map[string]map[string]float64
	reference(t, "crossed_incomplete.json", &ref)
	require.Len(t, ref, 6)
	for name, want := range ref {
		t.Run(name, func(t *testing.T) {
			c, err := Crossed(crossedSet(t, name))
			require.NoError(t, err)
			total := want["target"] + want["reader"] + want["interaction"] + want["repeat"]
			for of, got := range map[string]float64{"target": c.Target, "reader": c.Reader, "interaction": c.Interaction, "repeat": c.Repeat} {
				if want[of] < 1e-7*total {
					assert.Zero(t, got, of)
					continue
				}
				near(t, want[of], got, 1e-5, of)
			}
			near(t, want["mean"], c.Mean, 1e-6, "mean")
			assert.InDelta(t, want["loglik"], c.LogLik, 1e-7, "log-likelihood")
			assert.Equal(t, name != "single", c.Separable)
		})
	}
}

// Degrees of freedom, and what each mean square expects of the variances of
// targets, readers and target by reader: R 4.2.2, traces of dense projections.
func TestCrossedSquares(t *testing.T) {
	var ref map[string]map[string][4]float64
	reference(t, "crossed_squares.json", &ref)
	require.Len(t, ref, 6)
	for name, want := range ref {
		t.Run(name, func(t *testing.T) {
			c, err := Crossed(crossedSet(t, name))
			require.NoError(t, err)
			l := c.layout
			for of, got := range map[string]stratum{"target": l.target, "reader": l.reader, "inter": l.inter, "repeat": l.repeat} {
				for i, v := range []float64{got.df, got.target, got.reader, got.inter} {
					near(t, want[of][i], v, 1e-9, of)
				}
			}
		})
	}
}

// The intervals of sums of mean squares: R 4.2.2, qchisq, by Graybill and Wang's formulas,
// on the mean squares of the balanced study of 20 hips, 3 readers, 2 sessions (anova(lm)).
func TestCrossedSpreads(t *testing.T) {
	d := columns(t, "crossed_20x3x2.csv", nil, "hip", "observer", "penetration")
	c, err := Crossed(crossedTable(d[0], d[1], d[2]))
	require.NoError(t, err)
	for _, s := range []struct {
		name   string
		got    Spread
		sd     float64
		lo, hi float64
	}{
		{"RepeatabilitySD", c.RepeatabilitySD(), 0.0476958244154, 0.0404799106875, 0.0580665945189},
		{"ReproducibilitySD", c.ReproducibilitySD(), 0.0701199567408, 0.0574751241942, 0.287278870216},
		{"ConsistencySD", c.ConsistencySD(), 0.054716478162, 0.0479594631679, 0.0658626805659},
		{"BetweenSD", c.BetweenSD(), 0.0513995784678, 0.0311094539566, 0.283289555075},
	} {
		i := s.got.Interval(0.95)
		near(t, s.sd, s.got.SD, 1e-6, s.name)
		near(t, s.lo, i.Lo, 1e-6, s.name+", lower")
		near(t, s.hi, i.Hi, 1e-6, s.name+", upper")
		l := s.got.LimitInterval(0.95)
		near(t, s.hi*1.96*math.Sqrt2, l.Hi, 1e-6, s.name+", limit")
		near(t, s.sd*1.96*math.Sqrt2, s.got.Limit(), 1e-6, s.name+", limit")
	}
	// R 4.2.2: uniroot on Ting's limits with qf and qchisq.
	a := c.AgreementICC(0.95)
	near(t, 0.468109537244, a.Lo, 1e-6, "ICC(A,1), lower")
	near(t, 0.972491990722, a.Hi, 1e-6, "ICC(A,1), upper")
}

// Degenerate tables give coefficients within 0 and 1, and say when there is none.
func TestCoefficientsWithinRange(t *testing.T) {
	for name, x := range map[string][][]float64{
		"readers change places": {{1, 2}, {2, 1}, {1.1, 2}, {2, 0.9}},
		"targets alike":         {{1, 2, 3}, {3, 1, 2}, {2, 3, 1}},
		"readers alike too":     {{1, 2}, {2, 1}},
		"huge":                  {{1e150, 2}, {2, 1e150}, {3, 4}},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := Intraclass(x, 0.95)
			require.NoError(t, err)
			for _, f := range r.Forms {
				inRange(t, f)
				assert.True(t, f.Below || f.Value > 0, f.Form)
			}
			assert.True(t, r.Forms[4].Below, "once 5.12")
			c, err := Crossed(crossedTable(long(x)))
			require.NoError(t, err)
			assert.Zero(t, c.Target)
			inRange(t, c.AgreementICC(0.95))
			inRange(t, c.ConsistencyICC(0.95))
		})
	}
}

func inRange(t *testing.T, c Coefficient) {
	t.Helper()
	assert.True(t, 0 <= c.Lo && c.Lo <= c.Value && c.Value <= c.Hi && c.Hi <= 1, "%+v", c)
}

func TestCrossedFaults(t *testing.T) {
	var few *TooFewError
	_, err := Crossed(nil)
	require.ErrorAs(t, err, &few)
	_, err = Crossed([][][]float64{{{1, 2}}, {{3}}})
	require.ErrorAs(t, err, &few, "one reader")
	_, err = Crossed([][][]float64{{{1, 2}, {3}}})
	require.ErrorAs(t, err, &few, "one target")
	_, err = Crossed([][][]float64{{{1}, {2}}, {{3}}})
	require.ErrorAs(t, err, &few, "nothing left for the scatter")
	_, err = Crossed([][][]float64{{{1, 2}}, {nil, {3, 4}}})
	require.ErrorIs(t, err, ErrApart)
	_, err = Crossed([][][]float64{{{1}, {1.5}}, {{2}, {2.5}}, {{3}, {3.5}}})
	require.ErrorIs(t, err, ErrNoScatter)
	_, err = Crossed([][][]float64{{{1}, {1}}, {{1}, {1}}})
	require.ErrorIs(t, err, ErrNoScatter)
	var not *NonFiniteError
	_, err = Crossed([][][]float64{{{1}, {math.NaN()}}, {{1}, {1}}})
	require.ErrorAs(t, err, &not)
	_, err = Crossed([][][]float64{{{1e308}, {-1e308}}, {{1e308}, {1}}})
	require.Error(t, err)

	// Repeats that only copy the first reading count once.
	once := [][][]float64{{{1}, {1.2}}, {{2}, {2.1}}, {{3}, {3.3}}}
	twice := [][][]float64{{{1, 1}, {1.2}}, {{2}, {2.1, 2.1}}, {{3, 3}, {3.3, 3.3}}}
	a, err := Crossed(once)
	require.NoError(t, err)
	b, err := Crossed(twice)
	require.NoError(t, err)
	assert.True(t, b.Alike)
	assert.False(t, b.Separable)
	near(t, a.Repeat, b.Repeat, 1e-9, "residual")
	near(t, a.Target, b.Target, 1e-9, "targets")
}

// Whatever the readings, components are finite and not negative, or refused.
func FuzzCrossed(f *testing.F) {
	f.Add(1.0, 2.0, 3.0, 4.0, 5.0, 6.0, uint8(0))
	f.Add(1.0, 1.0, 2.0, 2.0, 3.0, 3.0, uint8(7))
	f.Add(1e-200, 1e200, -1e200, 0.0, 5.0, 5.0, uint8(3))
	f.Fuzz(func(t *testing.T, a, b, c, d, e, g float64, shape uint8) {
		x := [][][]float64{{{a}, {b}}, {{c}, {d}}, {{e}, {g}}}
		for i := range x {
			for j := range x[i] {
				switch k := 2*i + j; {
				case shape>>k&1 == 1 && k%2 == 0:
					x[i][j] = append(x[i][j], a, g)
				case shape>>k&1 == 1:
					x[i][j] = nil
				}
			}
		}
		r, err := Crossed(x)
		if err != nil {
			assert.Regexp(t, `^wearfit: [^\n]+$`, err.Error())
			return
		}
		for _, v := range []float64{r.Target, r.Reader, r.Interaction, r.Repeat, r.ReproducibilitySD().Interval(0.95).Hi, r.BetweenSD().SD} {
			assert.True(t, v >= 0 && finite(v), "%+v", r)
		}
		inRange(t, r.AgreementICC(0.95))
		inRange(t, r.ConsistencyICC(0.95))
	})
}
