package wearfit

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The sets of the National Institute of Standards and Technology once more, each
// computed afresh: linear ones in exact rational arithmetic, the others with 50
// digits by mpmath 1.2.1.
func TestNISTRecomputed(t *testing.T) {
	var ref struct {
		Sets map[string]struct {
			Parameters map[string]struct{ Estimate, SD string }
			SD         string `json:"residual_sd"`
		}
	}
	reference(t, "nist_recomputed.json", &ref)
	require.Len(t, ref.Sets, 8)
	number := func(s string) float64 {
		v, err := strconv.ParseFloat(s, 64)
		require.NoError(t, err)
		return v
	}
	for name, want := range ref.Sets {
		t.Run(name, func(t *testing.T) {
			set := certifiedSet(t, name)
			got, sigma, names, tol := fitNIST(t, name, set)
			require.Len(t, want.Parameters, len(got))
			for j, p := range names {
				near(t, number(want.Parameters[p].Estimate), got[j].Value, tol, p)
				near(t, number(want.Parameters[p].SD), got[j].SE, tol, "sd of "+p)
				near(t, set.Parameters[p].Estimate, got[j].Value, tol, p+", certified")
				near(t, set.Parameters[p].SD, got[j].SE, tol, "sd of "+p+", certified")
			}
			near(t, number(want.SD), sigma, tol, "residual sd")
			near(t, set.ResidualSD, sigma, tol, "residual sd, certified")
		})
	}
}

// fitNIST fits a set: linear ones to 10 digits, the others to 8.
func fitNIST(t *testing.T, name string, set nist) (e []Estimate, sigma float64, names []string, tol float64) {
	t.Helper()
	file := map[string]string{"Norris": "norris", "Pontius": "pontius", "NoInt1": "noint1", "Longley": "longley",
		"Misra1a": "misra1a", "Misra1b": "misra1b", "BoxBOD": "boxbod", "Chwirut2": "chwirut2"}[name]
	if set.Start1 == nil {
		in := []string{"x", "y"}
		if name == "Longley" {
			in = []string{"x1", "x2", "x3", "x4", "x5", "x6", "y"}
		}
		d := columns(t, "nist_"+file+".csv", nil, in...)
		cols, y := d[:len(d)-1], d[len(d)-1]
		first := 0
		if name == "NoInt1" {
			first = 1
		} else {
			cols = append([][]float64{ones(len(y))}, cols...)
		}
		if name == "Pontius" {
			cols = append(cols, products(d[0], d[0]))
		}
		l, err := FitLinear(cols, y, nil)
		require.NoError(t, err)
		for j := range cols {
			e, names = append(e, l.Estimate(j)), append(names, "B"+strconv.Itoa(first+j))
		}
		return e, l.Sigma, names, 1e-10
	}
	d := columns(t, "nist_"+file+".csv", nil, "x", "y")
	var start []float64
	for j := range len(set.Start1) {
		names = append(names, "b"+strconv.Itoa(j+1))
		start = append(start, set.Start1[names[j]])
	}
	f := map[string]func(x float64, b []float64) float64{
		"Misra1a":  func(x float64, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		"Misra1b":  func(x float64, b []float64) float64 { return b[0] * (1 - math.Pow(1+b[1]*x/2, -2)) },
		"BoxBOD":   func(x float64, b []float64) float64 { return b[0] * (1 - math.Exp(-b[1]*x)) },
		"Chwirut2": func(x float64, b []float64) float64 { return math.Exp(-b[0]*x) / (b[1] + b[2]*x) },
	}[name]
	c, err := FitCurve(f, start, d[0], d[1], nil)
	require.NoError(t, err)
	for j := range start {
		e = append(e, c.Estimate(j))
	}
	return e, c.Sigma, names, 1e-8
}

func products(a, b []float64) []float64 {
	v := make([]float64, len(a))
	for i := range v {
		v[i] = a[i] * b[i]
	}
	return v
}

// Residuals and leverage carry R's diagnostics: rstandard, rstudent and
// cooks.distance of the first five observations of Norris, R 4.2.2.
func TestDiagnosticsAgainstR(t *testing.T) {
	var ref struct {
		First struct {
			Internal []float64 `json:"studentised_internal"`
			External []float64 `json:"studentised_external"`
			Cook     []float64
		} `json:"norris_diagnostics_first5"`
	}
	reference(t, "intervals.json", &ref)
	d := columns(t, "nist_norris.csv", nil, "x", "y")
	l, err := FitLine(d[0], d[1], nil)
	require.NoError(t, err)
	require.Len(t, ref.First.Cook, 5)
	for i := range 5 {
		h := l.Leverage[i]
		in := l.Residuals[i] / (l.Sigma * math.Sqrt(1-h))
		near(t, ref.First.Internal[i], in, certified, "internal")
		near(t, ref.First.External[i], in*math.Sqrt(float64(l.DF-1)/(float64(l.DF)-in*in)), certified, "external")
		near(t, ref.First.Cook[i], in*in*h/(2*(1-h)), certified, "Cook's distance")
	}
}

// checkLinear compares a fit with R's lm, its names in the order of the columns.
func (r rLine) checkLinear(t *testing.T, l Linear, names ...string) {
	t.Helper()
	require.Len(t, r.Coefficients, len(names))
	for j, name := range names {
		near(t, r.Coefficients[name], l.Coef[j], certified, name)
		near(t, r.SE[name], l.Estimate(j).SE, certified, "se of "+name)
		ci := l.Estimate(j).Interval(0.95)
		near(t, r.Lower[name], ci.Lo, certified, "lower "+name)
		near(t, r.Upper[name], ci.Hi, certified, "upper "+name)
	}
	near(t, r.Sigma, l.Sigma, certified, "sigma")
}

// R 4.2.2 lm where the tests of single methods take only a part of a set: the
// weighted quadratic of the strong interaction data, least squares on the sets of
// the robust fits and on the stagnant band, all films of the simulated series.
func TestLinearAgainstR(t *testing.T) {
	fit := func(cols [][]float64, y, w []float64) Linear {
		l, err := FitLinear(cols, y, w)
		require.NoError(t, err)
		return l
	}
	t.Run("weighted quadratic", func(t *testing.T) {
		var ref struct {
			Q rLine `json:"wls_quadratic"`
		}
		reference(t, "wls_strongx.json", &ref)
		d := columns(t, "wls_strongx.csv", nil, "x", "y", "sd")
		l := fit([][]float64{ones(len(d[0])), d[0], products(d[0], d[0])}, d[1], inverseSquares(d[2]))
		ref.Q.checkLinear(t, l, "(Intercept)", "x", "I(x^2)")
	})
	t.Run("phones and stack loss", func(t *testing.T) {
		var ref struct {
			Phones, Stackloss struct{ OLS rLine }
			One               struct{ OLS rLine } `json:"stackloss_one_predictor"`
		}
		reference(t, "robust.json", &ref)
		p := columns(t, "robust_phones.csv", nil, "year", "calls")
		ref.Phones.OLS.checkLinear(t, fit([][]float64{ones(24), p[0]}, p[1], nil), "(Intercept)", "year")
		s := columns(t, "robust_stackloss.csv", nil, "Air.Flow", "Water.Temp", "Acid.Conc.", "stack.loss")
		ref.Stackloss.OLS.checkLinear(t, fit(append([][]float64{ones(21)}, s[:3]...), s[3], nil), "(Intercept)", "Air.Flow", "Water.Temp", "Acid.Conc.")
		ref.One.OLS.checkLinear(t, fit([][]float64{ones(21), s[0]}, s[3], nil), "(Intercept)", "Air.Flow")
	})
	t.Run("stagnant band, one line", func(t *testing.T) {
		var ref struct {
			One rLine `json:"single_line"`
		}
		reference(t, "stagnant.json", &ref)
		d := columns(t, "stagnant.csv", nil, "x", "y")
		ref.One.checkLinear(t, fit([][]float64{ones(len(d[0])), d[0]}, d[1], nil), "(Intercept)", "x")
	})
	t.Run("all films", func(t *testing.T) {
		var ref struct {
			Series map[string]struct {
				All   rLine `json:"all_data_line"`
				Creep struct {
					Estimate float64
					CI       [2]float64 `json:"ci95"`
				} `json:"creep_at_time_zero"`
				Free struct {
					Wald [2]float64 `json:"wald95_break"`
				} `json:"unknown_break_exact"`
			}
		}
		reference(t, "penetration_fits.json", &ref)
		for _, name := range []string{"A", "B", "C", "D"} {
			want := ref.Series[name]
			d := series(t, name)
			want.All.checkLinear(t, fit([][]float64{ones(len(d[0])), d[0]}, d[1], nil), "intercept", "slope")
			// Bedding-in: the intercept of the line from 1 year on.
			x, y, _ := pick(d[0], d[1], nil, func(i int) bool { return d[0][i] >= 1 })
			l, err := FitLine(x, y, nil)
			require.NoError(t, err)
			lo, hi := l.InterceptInterval(0.95)
			near(t, want.Creep.Estimate, l.Intercept, certified, "bedding-in")
			pair(t, want.Creep.CI, Interval{lo, hi}, "bedding-in")
			// The interval of a break that the profile replaces.
			s, err := FitStick(d[0], d[1], nil)
			require.NoError(t, err)
			wald := Estimate{s.Break, math.Sqrt(s.Cov.At(3, 3)), float64(s.DF)}.Interval(0.95)
			near(t, want.Free.Wald[0], wald.Lo, 1e-5, "linearised break, lower")
			near(t, want.Free.Wald[1], wald.Hi, 1e-5, "linearised break, upper")
		}
	})
}

// Package segmented 1.6-2: without restarts it stops at a local minimum, which is
// one of those found here; with restarts at the lowest.
func TestStagnantAgainstPackage(t *testing.T) {
	type found struct{ Psi, RSS float64 }
	var ref struct {
		Stops    found `json:"unknown_break_package_no_restarts"`
		Restarts found `json:"unknown_break_package_default_restarts"`
	}
	reference(t, "stagnant.json", &ref)
	d := columns(t, "stagnant.csv", nil, "x", "y")
	s, err := FitStick(d[0], d[1], nil)
	require.NoError(t, err)
	// The package ends its search at 1e-6 or so.
	near(t, ref.Restarts.RSS, s.RSS, 1e-9, "lowest")
	assert.InDelta(t, ref.Restarts.Psi, s.Break, 1e-6)
	near(t, ref.Stops.RSS, s.Minima[1].RSS, 1e-9, "where it stops")
	assert.InDelta(t, ref.Stops.Psi, s.Minima[1].At, 1e-6)
	assert.Greater(t, ref.Stops.RSS, s.RSS)
}

// Huber's fits by a second implementation, and as the book prints them (the line
// printed for the phones is an early stop).
func TestHuberSecond(t *testing.T) {
	var second struct {
		Phones struct{ Intercept, Slope, Scale float64 } `json:"huber_check_phones"`
		Stack  struct {
			Coefficients []float64
			Scale        float64
		} `json:"huber_check_stackloss"`
	}
	reference(t, "theil_sen.json", &second)
	p := columns(t, "robust_phones.csv", nil, "year", "calls")
	h, err := FitHuber([][]float64{ones(24), p[0]}, p[1])
	require.NoError(t, err)
	near(t, second.Phones.Intercept, h.Coef[0], 1e-9, "intercept")
	near(t, second.Phones.Slope, h.Coef[1], 1e-9, "slope")
	near(t, second.Phones.Scale, h.Scale, 1e-9, "scale")
	s := columns(t, "robust_stackloss.csv", nil, "Air.Flow", "Water.Temp", "Acid.Conc.", "stack.loss")
	h, err = FitHuber(append([][]float64{ones(21)}, s[:3]...), s[3])
	require.NoError(t, err)
	for j, printed := range []float64{-41.03, 0.83, 0.93, -0.13} {
		near(t, second.Stack.Coefficients[j], h.Coef[j], 1e-9, "coefficient")
		assert.InDelta(t, printed, h.Coef[j], 0.005, "as printed")
	}
	near(t, second.Stack.Scale, h.Scale, 1e-9, "scale")
	assert.InDelta(t, 2.44, h.Scale, 0.005, "as printed")
}
