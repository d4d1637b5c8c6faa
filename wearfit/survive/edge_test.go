package survive

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Where none or all are revised the interval is that of a binomial share; R 4.2.2
// binom.test(n, n)$conf.int[1].
func TestNoEvent(t *testing.T) {
	all := []Liner{{Years: 1}, {Years: 2}, {Years: 3, Event: 2}, {Years: 4}, {Years: 5}, {Years: 6}, {Years: 7}, {Years: 8}, {Years: 9}, {Years: 10}}
	km, err := KaplanMeier(all)
	require.NoError(t, err)
	inc, err := AalenJohansen(all, []float64{0.5, 5.5}, 2)
	require.NoError(t, err)
	for _, c := range []struct {
		years float64
		risk  int
		lower float64
	}{{0.5, 10, 0.6915028921812392}, {5.5, 5, 0.4781762498950185}, {10, 1, 0.025}, {11, 0, 0}} {
		s := km.At(c.years)
		assert.Equal(t, c.risk, s.AtRisk)
		assert.InDelta(t, 1, s.Value, 0)
		assert.Equal(t, Exact, s.Method())
		assert.InDelta(t, c.lower, s.Interval(0.95).Lo, 1e-12)
		assert.InDelta(t, 1, s.Interval(0.95).Hi, 0)
	}
	assert.InDelta(t, 1-0.6915028921812392, inc[0].Of[0].Interval(0.95).Hi, 1e-12)
	assert.InDelta(t, 0.6915028921812392, inc[0].Free.Interval(0.95).Lo, 1e-12)
	assert.InDelta(t, 1-0.4781762498950185, inc[1].Of[0].Interval(0.95).Hi, 1e-12, "after a death")
	assert.Equal(t, LogLog, inc[1].Free.Method())
	_, ok := km.Quantile(0.5)
	assert.False(t, ok)

	gone, err := KaplanMeier([]Liner{{Years: 2, Event: 1}, {Years: 3, Event: 1}, {Years: 3, Event: 1}})
	require.NoError(t, err)
	end := gone.At(3)
	assert.InDelta(t, 0, end.Value, 0)
	assert.InDelta(t, 1-math.Sqrt(0.025), end.Interval(0.95).Hi, 1e-12, "2 of 2")
	assert.InDelta(t, 0, end.Interval(0.95).Lo, 0)
}

// Two hips of each patient: the patients stand for all.
func TestNoEventPatients(t *testing.T) {
	km, err := KaplanMeier([]Liner{{4, 0, "a"}, {5, 0, "a"}, {4, 0, "b"}, {6, 0, "b"}, {9, 0, "c"}})
	require.NoError(t, err)
	assert.InDelta(t, math.Cbrt(0.025), km.At(4).Interval(0.95).Lo, 1e-12)
	assert.InDelta(t, math.Sqrt(0.025), km.At(5.5).Interval(0.95).Lo, 1e-12)
}

// Patients that balance have no scatter to take an error from.
func TestBalancedPatients(t *testing.T) {
	km, err := KaplanMeier([]Liner{{1, 1, "a"}, {3, 0, "a"}, {1, 1, "b"}, {3, 0, "b"}})
	require.NoError(t, err)
	s := km.At(2)
	assert.InDelta(t, 0.5, s.Value, 1e-12)
	assert.InDelta(t, 0, s.SE, 0)
	i := s.Interval(0.95)
	assert.InDelta(t, 1, i.Hi-i.Lo, 0)
	inc, err := AalenJohansen([]Liner{{2, 1, "a"}, {2, 1, "b"}, {3, 0, "a"}, {3, 0, "a"}, {3, 1, "a"}, {3, 0, "b"}, {3, 0, "b"}, {3, 1, "b"}}, []float64{2}, 2)
	require.NoError(t, err)
	assert.InDelta(t, 0, inc[0].Of[0].SE, 0)
}

// A revision and a last contact at one time: the liner that was only last seen was at
// risk of it.
func TestTiedWithCensoring(t *testing.T) {
	km, err := KaplanMeier([]Liner{{Years: 2}, {Years: 2, Event: 1}, {Years: 0}, {Years: 3}})
	require.NoError(t, err)
	assert.InDelta(t, 1-1.0/3, km.At(2).Value, 1e-12)
	assert.Equal(t, 3, km.At(2).AtRisk)
}

func TestFaults(t *testing.T) {
	column := func(v ...float64) [][]float64 { return [][]float64{v} }
	in := func(years float64, event int) Liner { return Liner{Years: years, Event: event} }
	for _, c := range []struct {
		name    string
		liners  []Liner
		columns [][]float64
		want    string
	}{
		{"none", nil, column(), ErrNone.Error()},
		{"not a number", []Liner{in(1, 1), in(math.NaN(), 0)}, column(1, 2), "wearfit: liner 2 was observed for NaN years"},
		{"infinite", []Liner{in(math.Inf(1), 1), in(1, 0)}, column(1, 2), "wearfit: liner 1 was observed for +Inf years"},
		{"before surgery", []Liner{in(-1, 1), in(1, 0)}, column(1, 2), "wearfit: liner 1 was observed for -1 years"},
		{"unknown event", []Liner{in(1, 1), in(1, 10)}, column(1, 2), "wearfit: liner 2 has event 10, not one from 0 to 9"},
		{"negative event", []Liner{in(1, -1)}, column(1), "wearfit: liner 1 has event -1, not one from 0 to 9"},
		{"one patient", []Liner{{1, 1, "a"}, {2, 0, "a"}}, column(1, 2), ErrFewPatients.Error()},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := KaplanMeier(c.liners)
			require.EqualError(t, err, c.want)
			_, err = AalenJohansen(c.liners, []float64{1}, 2)
			require.EqualError(t, err, c.want)
			_, err = Cox(c.liners, c.columns)
			require.EqualError(t, err, c.want)
			if c.name == "one patient" {
				return // groups count liners
			}
			_, err = LogRank([]Liner{{Years: 1, Event: 1}}, c.liners)
			require.EqualError(t, err, c.want)
			_, err = Gray(Revised, []Liner{{Years: 1, Event: 1}}, c.liners)
			require.EqualError(t, err, c.want)
		})
	}
	some := []Liner{in(1, 1), in(2, 0), in(3, 1), in(4, 0)}
	for _, c := range []struct {
		name    string
		liners  []Liner
		columns [][]float64
		want    string
	}{
		{"no column", some, nil, ErrSame.Error()},
		{"short", some, column(1, 2), "wearfit: column 1: 2 values for 4 liners"},
		{"constant", some, column(7, 7, 7, 7), "wearfit: column 1: wearfit: all values are the same"},
		{"nearly constant", some, column(7, 7, 7, math.Nextafter(7, 8)), "wearfit: column 1: wearfit: all values are the same"},
		{"not a number", some, column(7, math.NaN(), 7, 7), "wearfit: column 1: wearfit: values out of the range that can be fitted"},
		{"one liner", some[:1], column(7), "wearfit: column 1: wearfit: all values are the same"},
		{"all in place", []Liner{in(1, 0), in(2, 0)}, column(1, 2), ErrNoEvent.Error()},
		{"all at once", []Liner{in(1, 1), in(1, 1)}, column(1, 2), ErrNoEvent.Error()},
		{"only the last", []Liner{in(1, 0), in(2, 1)}, column(1, 2), ErrNoEvent.Error()},
		{"the same twice", some, [][]float64{{1, 3, 2, 5}, {2, 6, 4, 10}}, ErrSame.Error()},
		{"highest each time", some, column(9, 3, 8, 1), ErrSeparate.Error()},
		{"a group without a revision", []Liner{in(1, 1), in(2, 1), in(3, 1), in(4, 0), in(5, 0)}, column(0, 0, 0, 1, 1), ErrSeparate.Error()},
		{"two columns together", []Liner{in(1, 1), in(2, 1), in(3, 1), in(4, 0), in(5, 0)}, [][]float64{{3, 1, 2, 1, 0}, {1, 2, 1, 0.5, 1}}, ErrSeparate.Error()},
		{"as few patients as columns", []Liner{{1, 1, "a"}, {2, 0, "b"}, {3, 1, "a"}, {4, 0, "b"}, {4, 1, "b"}, {5, 1, "a"}, {6, 1, "a"}, {7, 0, "b"}}, [][]float64{{2, 3, 1, 3, 0, 2, 1, 1.5}, {2, 1, 1, 3, 3, 1, 2, 1}}, ErrFewPatients.Error()},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Cox(c.liners, c.columns)
			require.EqualError(t, err, c.want)
		})
	}
	_, err := LogRank(some)
	require.ErrorIs(t, err, ErrNone, "one group")
	_, err = LogRank([]Liner{in(1, 0)}, []Liner{in(2, 0)})
	require.ErrorIs(t, err, ErrNoEvent)
	_, err = Gray(2, some[:2], some[2:])
	require.ErrorIs(t, err, ErrNoEvent, "nobody died")
	_, err = Gray(1, []Liner{in(1, 1)}, []Liner{in(1, 1)})
	require.ErrorIs(t, err, ErrNoEvent, "all at once")
}

// A group of which nobody was at risk of a revision adds nothing: R 4.2.2, survdiff of
// survival 3.5-3 on all three groups, cuminc of cmprsk 2.2-11 on the first two.
func TestGroupNeverAtRisk(t *testing.T) {
	in := func(event int, years ...float64) (out []Liner) {
		for _, y := range years {
			out = append(out, Liner{Years: y, Event: event})
		}
		return out
	}
	a := append(in(1, 2, 4, 7), in(0, 5, 9)...)
	b := append(in(1, 3, 8), append(in(2, 3, 6), in(0, 10, 11)...)...)
	never := append(in(0, 1, 1.5), in(2, 0.5)...)
	r, err := LogRank(a, b, never)
	require.NoError(t, err)
	assert.InEpsilon(t, 0.850266810856809, r.ChiSquare, 1e-9)
	assert.Equal(t, 1, r.DF)
	g, err := Gray(Revised, a, b, never)
	require.NoError(t, err)
	assert.InEpsilon(t, 1.33314931601150, g.ChiSquare, 1e-9)
	assert.Equal(t, 1, g.DF)
}

// Whatever the liners, a result is finite and an interval has a width, or one line says
// why there is none.
func FuzzLiners(f *testing.F) {
	f.Add([]byte{1, 1, 0, 3, 2, 0, 1, 5, 3, 2, 2, 9, 4, 1, 1, 7})
	f.Add([]byte{0, 1, 0, 3})
	f.Add([]byte{5, 1, 0, 3, 5, 1, 0, 3, 5, 1, 1, 4})
	f.Add([]byte{5, 0, 0, 3, 6, 0, 0, 3, 7, 3, 1, 4})
	f.Fuzz(func(t *testing.T, raw []byte) {
		var liners []Liner
		groups := make([][]Liner, 2)
		columns := make([][]float64, 2)
		for ; len(raw) >= 4 && len(liners) < 60; raw = raw[4:] {
			l := Liner{float64(raw[0]) / 4, int(raw[1] % 4), string(rune('a' + raw[2]%40))}
			liners = append(liners, l)
			groups[raw[3]%2] = append(groups[raw[3]%2], l)
			columns[0] = append(columns[0], float64(raw[3]))
			columns[1] = append(columns[1], float64(raw[2]/40))
		}
		good := func(v ...float64) {
			for _, x := range v {
				assert.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%v", liners)
			}
		}
		line := func(err error) bool {
			if err != nil {
				assert.Regexp(t, regexp.MustCompile(`^wearfit: [^\n]+$`), err.Error())
			}
			return err == nil
		}
		share := func(s Share) {
			i := s.Interval(0.95)
			good(s.Value, s.SE, i.Lo, i.Hi)
			assert.Less(t, i.Lo, i.Hi, "%v", liners)
			assert.True(t, i.Lo >= 0 && i.Hi <= 1 && i.Lo <= s.Value+1e-9 && s.Value <= i.Hi+1e-9, "%v %v", s, liners)
		}
		if km, err := KaplanMeier(liners); line(err) {
			for _, s := range km.Steps {
				share(s.Share)
				share(km.At(s.Years + 0.1).Share)
			}
		}
		if inc, err := AalenJohansen(liners, []float64{0, 2, 30, 90}, 3); line(err) {
			for _, r := range inc {
				share(r.Free)
				sum := r.Free.Value
				for _, s := range r.Of {
					share(s)
					sum += s.Value
				}
				assert.InDelta(t, 1, sum, 1e-9)
			}
		}
		if h, err := Cox(liners, columns); line(err) {
			good(h.LogLik, h.Wald.ChiSquare, h.Wald.P, h.Score.P, h.Likelihood.P, h.Coef[0].SE, h.Coef[1].Value, h.RobustScore.P)
			each, all := h.Proportional()
			good(all.ChiSquare, all.P, each[0].P)
		}
		for _, test := range []func() (Test, error){
			func() (Test, error) { r, err := LogRank(groups...); return r.Test, err },
			func() (Test, error) { return Gray(Revised, groups...) },
		} {
			if r, err := test(); line(err) {
				good(r.ChiSquare, r.P)
				assert.GreaterOrEqual(t, r.ChiSquare, 0.0)
			}
		}
	})
}
